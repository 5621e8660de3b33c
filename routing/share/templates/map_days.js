
/* Several days: one layer each, and a switch. Everything of a date has its class; what is switched off takes no room. */
function switchDays(map, names) {
  "use strict";
  const MOST_BUTTONS = 5; // more would lie over the places of a corner
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
  function inButtons(holder, choices) {
    choices.forEach(function (each) {
      const button = L.DomUtil.create("button", "", holder);
      button.type = "button";
      button.textContent = each[0];
      button.dataset.day = String(each[1]);
      button.setAttribute("aria-pressed", String(each[1] === null));
      L.DomEvent.on(button, "click", function () { show(each[1]); });
    });
  }
  function inList(holder, choices) {
    const list = L.DomUtil.create("select", "", holder);
    list.setAttribute("aria-label", "Which day to show");
    choices.forEach(function (each) { list.add(new Option(each[0])); });
    L.DomEvent.on(list, "change", function () { show(choices[list.selectedIndex][1]); });
  }
  bar.onAdd = function () {
    const holder = L.DomUtil.create("div", "days");
    holder.setAttribute("role", "group");
    holder.setAttribute("aria-label", "Which day to show");
    const choices = [["All days", null]].concat(names.map(function (name, day) { return [name, day]; }));
    if (choices.length > MOST_BUTTONS) inList(holder, choices);
    else inButtons(holder, choices);
    L.DomEvent.disableClickPropagation(holder);
    return holder;
  };
  bar.addTo(map);
}
