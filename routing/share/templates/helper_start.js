
/* A page opened from disk may ask no host for pictures: a second policy takes the permission away again. */
if (!/^https?:$/.test(location.protocol)) {
  const policy = document.createElement("meta");
  policy.httpEquiv = "Content-Security-Policy";
  policy.content = "img-src data:";
  document.head.append(policy);
}

/* Wires the parts together; the map, where it can be drawn, adds itself to `drawn` and `placed`. */
const helper = (function () {
  const given = JSON.parse(one("#given").textContent);
  const keeping = startKeeping(`round ${given.round}`);
  const report = startReport(given, keeping);
  const drawn = [report.fresh];
  const placed = [];
  const list = startList(given, keeping, () => drawn.forEach((each) => each()));
  startForgetting(keeping, list);
  const field = startField(given, keeping, list, () => {
    keeping.save();
    list.draw();
  });
  drawn.push(field.draw);
  placed.push(field.placed);
  startPlace(given, list, (here) => placed.forEach((each) => each(here)));
  drawn.push(startFolds(list).drawNext);
  document.documentElement.classList.add("live");
  list.draw();
  keeping.looked.then((anew) => anew && list.draw());
  return { given, list, drawn, placed, looked: keeping.looked, order: () => keeping.state.field.answer || keeping.state.field.kept };
})();
