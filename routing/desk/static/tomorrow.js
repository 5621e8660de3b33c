// Choosing a stop marks it in the list, on the day line and on the map, wherever it was chosen; a round of several days
// shows one of them at a time on a screen and all on paper; what is private is asked for and shown on being asked.
"use strict";
(function () {
  const frame = document.getElementById("map"), crews = document.getElementById("crews");
  if (!crews) return;

  let chosen = "";
  function choose(mark, tellMap) {
    chosen = mark;
    for (const part of document.querySelectorAll("tr[data-stop], .day-line g[data-stop]")) {
      part.classList.toggle("chosen", part.dataset.stop === mark);
    }
    for (const button of document.querySelectorAll("button.choose")) {
      button.setAttribute("aria-pressed", String(button.dataset.stop === mark));
    }
    if (tellMap) frame.contentWindow.postMessage({ stop: mark }, "*"); // a number on a list, to a frame of no origin
  }

  crews.addEventListener("click", function (event) {
    const at = event.target.closest("button.choose, .day-line g[data-stop]");
    if (at) choose(at.dataset.stop, true);
  });
  window.addEventListener("message", function (event) {
    if (event.source !== frame.contentWindow || event.data.stop === chosen) return;
    choose(String(event.data.stop), false);
    const row = document.querySelector("tr.chosen");
    const panel = row && row.closest(".one-day");
    if (panel) showDay(tabs.findIndex((tab) => tab.getAttribute("aria-controls") === panel.id), false);
    if (row) row.scrollIntoView({ block: "nearest" });
  });

  const tabs = Array.from(document.querySelectorAll('.day-tabs [role="tab"]'));

  /* Only what a person chooses goes into the address: a browser that comes to one with a day in it leaves the answer above. */
  function showDay(at, focus, chosen = true) {
    tabs.forEach(function (tab, number) {
      const on = number === at;
      tab.setAttribute("aria-selected", String(on));
      tab.tabIndex = on ? 0 : -1;
      document.getElementById(tab.getAttribute("aria-controls")).classList.toggle("off", !on);
    });
    if (focus) tabs[at].focus();
    if (chosen) window.history.replaceState(null, "", "#" + tabs[at].getAttribute("aria-controls"));
  }

  const MOVES = { ArrowRight: (at) => at + 1, ArrowLeft: (at) => at - 1, Home: () => 0, End: () => tabs.length - 1 };
  tabs.forEach(function (tab, at) {
    tab.addEventListener("click", () => showDay(at, true));
    tab.addEventListener("keydown", function (event) {
      const move = MOVES[event.key];
      if (!move || event.altKey || event.ctrlKey || event.metaKey) return;
      event.preventDefault();
      showDay((move(at) + tabs.length) % tabs.length, true);
    });
  });
  if (tabs.length) {
    const asked = tabs.findIndex((tab) => "#" + tab.getAttribute("aria-controls") === window.location.hash);
    showDay(Math.max(0, asked), false, false);
  }

  const show = document.getElementById("private-show");
  if (!show) return;
  const lines = document.getElementById("private-lines");

  function hidePrivate() {
    lines.replaceChildren();
    show.setAttribute("aria-expanded", "false");
    show.textContent = "See private codes";
  }

  show.addEventListener("click", async function () {
    if (show.getAttribute("aria-expanded") === "true") return hidePrivate();
    const found = await desk.post("/tomorrow/private", { on: show.dataset.on, days: show.dataset.days });
    if (!found) return;
    for (const site of found.sites) {
      const title = document.createElement("h3"), list = document.createElement("ul");
      title.textContent = site.name;
      list.className = "plain";
      for (const line of site.lines) list.append(Object.assign(document.createElement("li"), { textContent: line }));
      lines.append(title, list);
    }
    show.setAttribute("aria-expanded", "true");
    show.textContent = "Hide private codes";
  });
  window.addEventListener("pagehide", hidePrivate);
})();
