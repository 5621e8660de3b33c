
/* The shown stops that a row of a kept order is about: its own, and what is near at the same site. */
function stopsOf(given, row) {
  const near = given.stops.filter((stop) => stop.near && stop.mark !== row.mark && stop.jobs.some((job) => row.jobs.includes(job.number)));
  return [given.stops.find((stop) => stop.mark === row.mark), ...near];
}

/* The list of stops: ticks, notes, the filter, and what is next. `onChange` is called after every change. */
function startList(given, keeping, onChange) {
  const cards = new Map(all(".stop[data-stop]").map((card) => [card.dataset.stop, card]));
  const filter = one("#filter");

  function jobsLeft(stop) {
    return stop.jobs.filter((job) => !(job.number in keeping.state.done)).length;
  }

  /* Hives to be loaded count as left here until they are on board, or set down at the next stop. */
  function left(stop) {
    const waiting = stop.loads.filter((load) => !(load.key in keeping.state.loaded || load.job in keeping.state.done));
    return jobsLeft(stop) + waiting.length;
  }

  /* What the plan has; what is near belongs to it where it was kept. */
  const planned = given.stops.filter((stop) => !stop.near);

  function followed() {
    const kept = keeping.state.field.kept;
    return kept ? given.stops.filter((stop) => !stop.near || kept.stops.some((row) => stopsOf(given, row).includes(stop))) : planned;
  }

  function filtered() {
    return one("#only-left").checked;
  }

  function drawTicks(name, kept) {
    for (const box of all(`[data-${name}]`)) {
      const time = kept[box.dataset[name]];
      box.checked = Boolean(time);
      one(".when", box.closest("label")).textContent = time ? `ticked ${clock(time)}` : "";
    }
  }

  /* What is being typed is left alone. */
  function drawAmounts() {
    for (const box of all("[data-part], [data-stores], [data-used]")) {
      if (box === document.activeElement) continue;
      const part = keeping.state.parts[box.dataset.part];
      if (box.dataset.part) box.value = part ? part.split(" ")[1] : "";
      else if (box.dataset.stores) box.value = keeping.state.stores[box.dataset.stores] || "";
      else box.value = keeping.state.used[box.dataset.used] || "";
    }
  }

  function drawCard(stop) {
    const card = cards.get(stop.mark);
    const open = left(stop);
    const finished = open === 0;
    card.classList.toggle("finished", finished);
    card.hidden = finished && filtered();
    const all = stop.jobs.length + stop.loads.length;
    const done = all - open;
    one(".state", card).textContent = finished ? "\u2713 done" : done ? `${done} of ${all} done` : "";
    const note = one("[data-note]", card);
    const kept = keeping.state.notes[stop.mark] || "";
    if (note && note.value !== kept) note.value = kept;
  }

  /* In the order that was kept in the field, else in that of the plan. */
  function nextStop() {
    const kept = keeping.state.field.kept;
    const order = kept ? kept.stops.flatMap((row) => stopsOf(given, row)) : planned;
    return order.find((stop) => stop && left(stop) > 0);
  }

  function drawProgress() {
    const jobs = followed().flatMap((stop) => stop.jobs);
    const open = followed().reduce((sum, stop) => sum + jobsLeft(stop), 0);
    const next = nextStop();
    one("#count").textContent = `${jobs.length - open} of ${jobs.length} ${jobs.length === 1 ? "job" : "jobs"} done`;
    const link = one("#next");
    link.textContent = next ? `Next: ${next.mark} ${next.name}` : open > 0 ? "All that was kept is done: home" : "All done: home";
    link.href = next ? `#stop-${next.mark}` : "#home";
    one("#nothing-left").hidden = !filtered() || open > 0;
  }

  function draw() {
    drawTicks("job", keeping.state.done);
    drawTicks("load", keeping.state.loaded);
    drawAmounts();
    given.stops.forEach(drawCard);
    drawProgress();
    drawKept();
    onChange();
  }

  function drawKept() {
    one("#not-kept").hidden = keeping.works();
  }

  function change() {
    keeping.save().then(drawKept);
    draw();
  }

  function tick(box, name, kept) {
    if (box.checked) kept[box.dataset[name]] = moment();
    else delete kept[box.dataset[name]];
    change();
  }

  /* All the hives are a tick, none or no number is nothing, and what lies between is a part. */
  function typedHives(box) {
    const number = box.dataset.part;
    const hives = Math.floor(Number(box.value));
    const most = Number(box.max);
    delete keeping.state.parts[number];
    if (hives >= most) keeping.state.done[number] = keeping.state.done[number] || moment();
    else {
      if (hives > 0 || box.value !== "") delete keeping.state.done[number];
      if (hives > 0) keeping.state.parts[number] = `${moment()} ${hives}`;
    }
    change();
  }

  /* `name` is that of the map in which it is kept, and of the attribute that holds the job's number. */
  function typedAmount(box, name) {
    const amount = Number(box.value);
    const fits = box.value !== "" && amount >= 0 && amount <= 100;
    if (fits) keeping.state[name][box.dataset[name]] = String(Math.round(amount * 1000) / 1000);
    else delete keeping.state[name][box.dataset[name]];
    change();
  }

  /* A card that the filter takes away must not take the focus with it. */
  function afterTick(card) {
    const stop = given.stops.find((each) => each.mark === card.dataset.stop);
    if (!card.hidden) return;
    const next = planned.find((each) => left(each) > 0);
    one("#said").textContent = `${stop.mark} ${stop.name} is done and out of the list. "All" shows it again.`;
    if (next) show(next.mark);
    else filter.querySelector("input").focus();
  }

  function show(mark) {
    const card = cards.get(mark);
    if (card.hidden) {
      one("#all-stops").checked = true;
      draw();
    }
    card.scrollIntoView({ block: "start" });
    card.focus({ preventScroll: true });
    return card;
  }

  document.addEventListener("change", (event) => {
    const box = event.target;
    if (box.matches("[data-job]")) {
      delete keeping.state.parts[box.dataset.job];
      tick(box, "job", keeping.state.done);
      afterTick(box.closest("[data-stop]"));
    } else if (box.matches("[data-load]")) {
      tick(box, "load", keeping.state.loaded);
      if (box.closest("[data-stop]")) afterTick(box.closest("[data-stop]"));
    }
    else if (box.closest("#filter")) draw();
  });
  document.addEventListener("input", (event) => {
    const box = event.target;
    if (box.matches("[data-part]")) {
      typedHives(box);
      afterTick(box.closest("[data-stop]"));
    }
    if (box.matches("[data-stores]")) typedAmount(box, "stores");
    if (box.matches("[data-used]")) typedAmount(box, "used");
    if (!box.matches("[data-note]")) return;
    keeping.state.notes[box.closest("[data-stop]").dataset.stop] = box.value.slice(0, 1000);
    change();
  });
  window.addEventListener("storage", () => keeping.again().then(draw));
  return { draw, show, left, next: nextStop };
}

/* Forgetting takes two taps on purpose. */
function startForgetting(keeping, list) {
  const button = one("#forget");
  const words = button.textContent;
  button.addEventListener("click", () => {
    if (!button.classList.contains("sure")) {
      button.classList.add("sure");
      button.textContent = "Tap again to forget all ticks and notes";
      return;
    }
    Object.assign(keeping.state, { done: {}, parts: {}, stores: {}, used: {}, loaded: {}, notes: {}, field: fieldKept({}) });
    keeping.save();
    list.draw();
    button.classList.remove("sure");
    button.textContent = words;
    one("#said").textContent = "All ticks and notes are forgotten.";
  });
  button.addEventListener("blur", () => {
    button.classList.remove("sure");
    button.textContent = words;
  });
}
