// Planning: the search with its progress, and the days put in order by pointer or by keys, each change timed by the desk.
"use strict";
(function () {
  const place = document.getElementById("plan-panel");
  if (!place) return;
  const live = document.createElement("p");
  live.id = "plan-live";
  live.setAttribute("role", "status");
  const body = document.createElement("div");
  place.append(live, body);
  const asked = new URLSearchParams(window.location.search);
  let days = asked.get("days") || "1";
  let listening = null;

  function key() {
    const plan = body.querySelector(".plan");
    return { on: place.dataset.on, days: days, seen: plan ? Number(plan.dataset.seen) : 0 };
  }

  function show(html, focus) {
    const open = Boolean(body.querySelector(".plan-if[open]"));
    body.innerHTML = html; // a piece of the desk's own page: every text in it is escaped, and no script may run
    byHand(false);
    if (open) body.querySelector(".plan-if").open = true;
    for (const output of body.querySelectorAll("output")) tellRange(output);
    const again = focus && body.querySelector('[data-focus="' + CSS.escape(focus) + '"]');
    if (again && !again.disabled) again.focus();
    else if (focus && body.querySelector("#plan-headline")) body.querySelector("#plan-headline").focus();
    listen();
  }

  // The days to work on take the place of what is written, which says the same or is older; the map stands beside them.
  const frame = document.getElementById("map");
  let drawing = 0;

  let opened = false;

  // The days are shown to work on when that is asked for, or where they are not what is written.
  function byHand(asked) {
    const trial = body.querySelector(".plan-trial");
    opened = opened || asked || Boolean(trial && trial.dataset.written === "false");
    for (const part of body.querySelectorAll(".plan-trial, .plan-order")) part.hidden = !opened;
    if (trial) body.querySelector("[data-open]").hidden = opened;
    inPlaceOfWritten(Boolean(trial) && opened);
    if (asked) body.querySelector("#plan-headline").focus();
  }

  function inPlaceOfWritten(instead) {
    for (const part of [document.getElementById("answer"), document.getElementById("crews"), document.getElementById("left-out-section"), document.querySelector(".words > .empty")]) {
      if (part) part.hidden = instead;
    }
    const side = frame && frame.parentElement;
    if (!instead || !side) return;
    side.hidden = false;
    window.clearTimeout(drawing);
    const holds = !body.querySelector(".headline.plan-broken");
    side.classList.toggle("stale", !holds);
    const now = key(), address = "/plan/map?on=" + now.on + "&days=" + now.days + "&seen=" + now.seen;
    if (holds && frame.dataset.address !== address) {
      drawing = window.setTimeout(function () {
        frame.dataset.address = address;
        frame.src = address;
      }, frame.dataset.address ? 1500 : 0);
    }
  }

  function choose(mark, tellMap) {
    for (const part of body.querySelectorAll("li[data-mark], .day-line g[data-stop]")) {
      part.classList.toggle("chosen", (part.dataset.mark || part.dataset.stop) === mark);
    }
    if (tellMap && frame) frame.contentWindow.postMessage({ stop: mark }, "*"); // a number on a list, to a frame of no origin
  }

  window.addEventListener("message", function (event) {
    if (!frame || event.source !== frame.contentWindow || typeof event.data.stop !== "string") return;
    choose(event.data.stop, false);
    const chosen = body.querySelector("li.chosen");
    if (chosen) chosen.scrollIntoView({ block: "nearest" });
  });

  async function load(focus) {
    const waiting = document.getElementById("plan-waiting");
    let answer = null;
    try {
      answer = await fetch("/plan/panel?on=" + encodeURIComponent(place.dataset.on) + "&days=" + encodeURIComponent(days));
    } catch {
      // the desk is closed, or was started anew
    }
    const html = answer && answer.ok ? await answer.text() : "";
    if (waiting && html) waiting.remove();
    else if (waiting) waiting.textContent = "Nothing can be planned here now. Load this page again; where that does not help, look at the farm's files.";
    show(html, html ? focus : null);
  }

  // One after the other: what is pressed while an answer is awaited goes on its way when that has come.
  let before = Promise.resolve();

  function send(url, fields, focus) {
    const latest = fields.do === "undo" || fields.do === "redo"; // these mean whatever is shown by then
    const given = Object.assign(key(), fields);
    before = before.then(function () {
      return answered(url, latest ? Object.assign(given, key()) : given, focus);
    });
    return before;
  }

  async function answered(url, fields, focus) {
    const found = await desk.post(url, fields);
    if (!found) return null;
    if (found.html && !found.go) show(found.html, focus);
    if (found.said) live.textContent = found.said;
    return found;
  }

  function change(fields, focus) {
    return send("/plan/change", fields, focus);
  }

  // Progress, as long as a search goes on.
  function listen() {
    const running = body.querySelector("#plan-running");
    if (!running || listening) return;
    listening = new EventSource("/plan/progress");
    listening.addEventListener("standing", function (event) {
      const told = JSON.parse(event.data);
      const now = body.querySelector("#plan-running");
      if (!now) return;
      for (const part of now.querySelectorAll("[data-told]")) {
        if (part.textContent !== told[part.dataset.told]) part.textContent = told[part.dataset.told];
      }
      if (told.limit) now.querySelector("progress").value = Number(told.gone);
    });
    listening.addEventListener("over", function () {
      end();
      load(null).then(function () {
        const news = body.querySelector("[data-news] [data-focus]") || body.querySelector("#plan-headline");
        const trouble = body.querySelector(".plan-trouble");
        live.textContent = "The search is over. " + ((trouble || news || live).textContent || "").trim();
        if (news) news.focus();
      });
    });
    listening.addEventListener("error", function () {
      end();
      window.setTimeout(load, 1000, null);
    });
  }

  function end() {
    if (listening) listening.close();
    listening = null;
  }

  function tellRange(output) {
    const value = Number(document.getElementById(output.htmlFor[0]).value);
    const signed = value > 0 ? "+" + value : value < 0 ? "−" + -value : "as it is";
    output.textContent = value && output.dataset.unit ? signed + " " + output.dataset.unit : signed;
  }

  body.addEventListener("input", function (event) {
    const output = event.target.id && body.querySelector('output[for="' + event.target.id + '"]');
    if (output) tellRange(output);
  });

  body.addEventListener("submit", function (event) {
    event.preventDefault();
    const form = event.target, fields = desk.fields(form);
    if (fields.days) days = fields.days;
    live.textContent = "The search is made ready: drives and light first.";
    send("/plan/search", Object.assign(fields, { for: form.dataset.for }), "stop").then(function (found) {
      if (!found) live.textContent = "";
    });
  });

  body.addEventListener("click", function (event) {
    const button = event.target.closest("button");
    if (!button || button.disabled) return;
    const data = button.dataset, item = button.closest("li[data-job]"), focus = data.focus || null;
    if ("open" in data) byHand(true);
    else if (data.do === "undo" || data.do === "redo") change({ do: data.do }, focus);
    else if (data.do === "add") change({ do: "add", number: Number(button.closest("[data-number]").dataset.number) }, "headline");
    else if (data.do === "drop") change({ do: "drop", job: item.dataset.job }, "headline");
    else if (data.do === "pin") change({ do: "pin", job: item.dataset.job, pin: data.pin }, "more " + item.dataset.job);
    else if (data.do === "send") change({ do: "send", job: item.dataset.job, to: item.querySelector("select").value }, "grip " + item.dataset.job);
    else if (data.step) step(item, Number(data.step), focus);
    else if (data.search === "around") send("/plan/search", { for: "around", seconds: seconds() }, "stop");
    else if (data.search === "remedy") price(button);
    else if ("stopSearch" in data) desk.post("/plan/stop", key());
    else if ("take" in data) send("/plan/take", { row: data.take === "" ? null : Number(data.take) }, "headline");
    else if ("intoFiles" in data) send("/plan/files", { row: data.intoFiles === "" ? null : Number(data.intoFiles), base: data.base }, "headline");
    else if ("again" in data) send("/plan/again", {}, "headline");
    else if ("keep" in data) keep();
    else if ("chance" in data) sure();
  });

  function price(button) {
    const which = { number: Number(button.closest("[data-number]").dataset.number), remedy: Number(button.dataset.remedy) };
    return send("/plan/search", Object.assign(which, { for: "remedy", words: button.dataset.words, seconds: seconds() }), "stop");
  }

  // What is left out of the round that is written: the same remedies, asked for in the same way.
  const written = document.getElementById("left-out-section");
  if (written) {
    written.addEventListener("click", function (event) {
      const button = event.target.closest('[data-search="remedy"]');
      if (button && body.querySelector(".plan")) price(button).then(() => place.scrollIntoView({ block: "start" }));
    });
  }

  async function keep() {
    const found = await send("/plan/keep", { replace: document.getElementById("plan-replace").checked }, "headline");
    const over = body.querySelector(".over");
    if (!found && over) over.hidden = false;
  }

  function seconds() {
    return document.getElementById("plan-seconds").value;
  }

  async function sure() {
    const found = await desk.post("/plan/chance", key());
    if (!found) return;
    const shown = body.querySelector(".plan-chance");
    shown.innerHTML = found.html;
    shown.hidden = false;
    const title = shown.querySelector("h2");
    title.tabIndex = -1;
    title.focus();
  }

  function step(item, by, focus) {
    const to = item.closest(".plan-day").dataset.day;
    change({ do: "move", job: item.dataset.job, to: to, place: Number(item.dataset.place) + by }, focus || "grip " + item.dataset.job);
  }

  // By keys: Enter takes a stop up, the arrows move it, Enter puts it down, Escape puts it back.
  let held = null;

  function heldWords() {
    const stops = held.item.parentElement.querySelectorAll("li[data-job]");
    const at = Array.prototype.indexOf.call(stops, held.item);
    return { at: at, of: stops.length };
  }

  function takeUp(grip) {
    const item = grip.closest("li");
    held = { item: item, grip: grip, next: item.nextElementSibling, list: item.parentElement };
    grip.setAttribute("aria-pressed", "true");
    item.classList.add("held");
    live.textContent = item.dataset.name + " taken up. Arrow keys move it, Enter puts it down, Escape puts it back.";
  }

  function putBack(say) {
    if (!held) return;
    held.list.insertBefore(held.item, held.next);
    held.item.classList.remove("held");
    held.grip.removeAttribute("aria-pressed");
    held.grip.focus();
    if (say) live.textContent = held.item.dataset.name + " put back.";
    held = null;
  }

  function shift(by) {
    const now = heldWords(), stops = held.item.parentElement.querySelectorAll("li[data-job]");
    const other = stops[now.at + by];
    if (!other) {
      const days = Array.from(body.querySelectorAll(".plan-day"));
      const list = (days[days.indexOf(held.item.closest(".plan-day")) + by] || body).querySelector(".plan-stops");
      if (!list) return;
      if (by > 0) list.prepend(held.item);
      else list.append(held.item);
    } else if (by > 0) other.after(held.item);
    else other.before(held.item);
    held.grip.focus();
    const then = heldWords(), day = held.item.closest(".plan-day").querySelector("h2").textContent;
    live.textContent = held.item.dataset.name + ": stop " + (then.at + 1) + " of " + then.of + ", " + day + ".";
  }

  function putDown() {
    const at = heldWords().at, job = held.item.dataset.job, to = held.item.closest(".plan-day").dataset.day;
    held.item.classList.remove("held");
    held.grip.removeAttribute("aria-pressed");
    held = null;
    change({ do: "move", job: job, to: to, place: at }, "grip " + job).then(function (found) {
      if (!found) load("grip " + job);
    });
  }

  body.addEventListener("keydown", function (event) {
    const grip = event.target.closest(".grip");
    if (!grip || event.ctrlKey || event.metaKey) return;
    if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      if (held) putDown();
      else takeUp(grip);
    } else if (held && event.key === "Escape") {
      event.preventDefault();
      putBack(true);
    } else if (held && (event.key === "ArrowUp" || event.key === "ArrowDown")) {
      event.preventDefault();
      shift(event.key === "ArrowUp" ? -1 : 1);
    } else if (held && event.key === "Tab") putBack(false);
    else if (event.altKey && (event.key === "ArrowUp" || event.key === "ArrowDown")) {
      event.preventDefault();
      step(grip.closest("li"), event.key === "ArrowUp" ? -1 : 1, "grip " + grip.closest("li").dataset.job);
    }
  });

  document.addEventListener("keydown", function (event) {
    if (!(event.ctrlKey || event.metaKey) || event.altKey || event.target.closest("input, textarea, select, [role=grid]")) return;
    const what = { z: event.shiftKey ? "redo" : "undo", y: "redo" }[event.key.toLowerCase()];
    const button = what && body.querySelector('[data-do="' + what + '"]');
    if (!button) return;
    event.preventDefault();
    change({ do: what }, document.activeElement.dataset.focus || "headline");
  });

  // By pointer: the number of a stop, or its row of the day line, is dragged to another place or another day.
  let drag = null;
  const FAR = 6; // pixels that a pointer may tremble

  function itemOf(part) {
    const day = part.closest(".plan-day");
    if (!day) return null;
    const row = part.closest(".day-line g[data-stop]");
    if (row) return day.querySelector('li[data-mark="' + CSS.escape(row.dataset.stop) + '"]');
    return part.closest("li[data-place]");
  }

  body.addEventListener("pointerdown", function (event) {
    const part = event.target.closest(".grip, .plan-day .day-line g[data-stop]");
    const item = part && itemOf(part);
    if (!item || !item.dataset.job || event.button || held) return;
    drag = { item: item, part: part, x: event.clientX, y: event.clientY, moved: false, to: null };
    part.setPointerCapture(event.pointerId);
  });

  body.addEventListener("pointermove", function (event) {
    if (!drag) return;
    drag.moved = drag.moved || Math.hypot(event.clientX - drag.x, event.clientY - drag.y) > FAR;
    if (!drag.moved) return;
    unmark();
    drag.item.classList.add("held");
    const under = document.elementFromPoint(event.clientX, event.clientY);
    const day = under && under.closest(".plan-day"), item = under && itemOf(under);
    drag.to = null;
    if (!day) return;
    const own = day === drag.item.closest(".plan-day"), stops = day.querySelectorAll("li[data-job]");
    let at = stops.length;
    if (item) {
      const box = (under.closest(".day-line g[data-stop]") || item).getBoundingClientRect();
      const after = event.clientY > box.top + box.height / 2;
      at = Number(item.dataset.place) + (after && item.dataset.job ? 1 : 0);
      item.classList.add(after ? "after" : "before");
    } else day.classList.add("into");
    if (own && at > Number(drag.item.dataset.place)) at -= 1;
    drag.to = { to: day.dataset.day, place: at };
  });

  function unmark() {
    for (const marked of body.querySelectorAll(".before, .after, .into")) marked.classList.remove("before", "after", "into");
  }

  function drop(event) {
    if (!drag) return;
    const was = drag;
    drag = null;
    unmark();
    was.item.classList.remove("held");
    if (!was.moved) choose(was.item.dataset.mark, true);
    if (was.moved && was.to && event.type === "pointerup") {
      const job = was.item.dataset.job;
      change(Object.assign({ do: "move", job: job }, was.to), "grip " + job);
    }
  }
  body.addEventListener("pointerup", drop);
  body.addEventListener("pointercancel", drop);

  load(null);
})();
