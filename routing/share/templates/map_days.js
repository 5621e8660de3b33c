
/* Several days: one layer each, and a switch. Everything of a date has its class; what is switched off takes no room. */
function switchDays(map, names) {
  "use strict";
  const bar = L.control({ position: "topright" });
  function show(wanted) {
    const box = map.getContainer();
    for (const each of box.querySelectorAll("[class*='day-']")) {
      each.classList.toggle("off-day", wanted !== null && !each.classList.contains("day-" + wanted));
    }
    for (const button of box.querySelectorAll(".days button")) {
      button.setAttribute("aria-pressed", String(button.dataset.day === String(wanted)));
    }
    map.closePopup();
    placeWords(map);
  }
  bar.onAdd = function () {
    const holder = L.DomUtil.create("div", "days");
    holder.setAttribute("role", "group");
    holder.setAttribute("aria-label", "Which day to show");
    [["All days", null]].concat(names.map(function (name, day) { return [name, day]; })).forEach(function (each) {
      const button = L.DomUtil.create("button", "", holder);
      button.type = "button";
      button.textContent = each[0];
      button.dataset.day = String(each[1]);
      button.setAttribute("aria-pressed", String(each[1] === null));
      L.DomEvent.on(button, "click", function () { show(each[1]); });
    });
    L.DomEvent.disableClickPropagation(holder);
    return holder;
  };
  bar.addTo(map);
}
