/* Behind or ahead, and what still fits: asked here, searched in a worker, kept or not. */
function startField(given, keeping, list, redraw) {
  const field = given.field;
  if (!field) return { draw: () => {}, placed: () => {} };
  const state = fieldState(given, keeping);
  const words = fieldWords(given);
  const told = fieldTold(given, keeping, state, words);
  const shown = fieldOrder(given, state, words);
  const { element } = shown;
  const searched = startSearch();
  const chance = field.spread ? fieldChance(field.spread) : null;
  const { stepsOf } = fieldSteps(given, state);
  const said = one("#field-said");

  function now() {
    return Math.floor(Date.now() / 1000) - field.midnight;
  }

  function isToday() {
    const day = new Intl.DateTimeFormat("en-CA", { timeZone: field.zone, year: "numeric", month: "2-digit", day: "2-digit" });
    return day.format(new Date()) === given.date || (now() > 0 && now() <= field.home_by + 6 * 3600);
  }

  /* The seconds of a typed HH:MM, also on a night in which the clocks change; early hours are those after midnight. */
  function typed(text) {
    const [hour, minute] = text.split(":").map(Number);
    let at = hour * 3600 + minute * 60;
    const [shownHour, shownMinute] = words.minuteOf(at).split(":").map(Number);
    at += ((hour - shownHour) * 60 + minute - shownMinute) * 60;
    return field.home_by > 86400 && at < field.leave - 6 * 3600 ? at + 86400 : at;
  }

  /* Where the crew is between the stop that it ticked last and the one that follows; null where it has none before it. */
  function wayNow() {
    const last = state.last();
    const from = last ? last.stop : -1;
    const { where } = state.problem({ kind: "stop", from }, now());
    const [next] = state.followed(where).stops;
    if (!next) return null;
    const to = field.stops[where[next.stop].index].at;
    const whole = field.seconds[from + 1][to + 1];
    return whole < 0 || to === from ? null : { kind: "way", from, to, gone: Math.max(0, Math.min(whole, asked().now - (last ? last.at : field.leave))) };
  }

  function asked() {
    const at = keeping.state.field.at;
    const before = keeping.state.field.from !== "here" && !state.last() ? Math.max(now(), field.leave) : now();
    return { now: at === "" ? before : typed(at) };
  }

  function begin() {
    const last = state.last();
    const chosen = keeping.state.field.from;
    const stop = { kind: "stop", from: chosen === "" || chosen === "way" || chosen === "here" ? (last ? last.stop : -1) : Number(chosen) };
    if (chosen === "way") return wayNow() || stop;
    return chosen === "here" && keeping.state.field.here ? { kind: "here", ...keeping.state.field.here } : stop;
  }

  /* Where and when what is followed goes on: the last tick, or the question whose answer was kept since. */
  function begun(last) {
    const kept = keeping.state.field.kept;
    if (kept && (!last || last.at <= kept.at)) return { begin: kept.begin, at: kept.at };
    return { begin: { kind: "stop", from: last ? last.stop : -1 }, at: last ? last.at : field.leave };
  }

  /* On how many simulated days an order that was timed is in time, of those on which its first stop is not over before a moment; null where that is not known. */
  function holds(question, where, day, at) {
    const steps = chance && day.stops.length ? stepsOf(question, where, day) : null;
    return steps && chance.holding(steps, { drive: day.back, homeBy: question.homeBy }, question.now, at);
  }

  /* The order that is followed, from the last tick on, as if nobody waited for the clock; then never sooner than now. */
  function pace() {
    if (!isToday()) return { text: `This page is of ${given.day}, not of today.` };
    const last = state.last();
    if (!last && !keeping.state.field.kept && now() < field.leave) return { text: `Not left yet: leave by ${words.minuteOf(field.leave)}.` };
    const since = begun(last);
    const reckoned = state.problem(since.begin, since.at);
    const { stops: order, part } = state.followed(reckoned.where);
    if (order.length === 0) return { text: keeping.state.field.kept ? "All that was kept is done: home." : "All done: home." };
    if (!reckoned.asked.base) order.forEach((each) => { each.base = false; }); // no trip is left: it was loaded already
    const question = part ? fieldAnswer().withPart(reckoned.asked, part) : reckoned.asked;
    let day = fieldDays().dayOf(question, order);
    const sure = day && holds(question, reckoned.where, day, now());
    if (day && day.stops[0].finish < now()) {
      question.breakAfter -= now() - day.stops[0].finish;
      question.now += now() - day.stops[0].finish;
      day = fieldDays().dayOf(question, order);
    }
    if (!day) return { text: "No way through what is left is known to this page." };
    const { index: first, jobs } = reckoned.where[order[0].stop];
    const number = state.jobsOf(first)[jobs[order[0].jobs[0]]].number;
    const kept = keeping.state.field.kept && keeping.state.field.kept.stops.find((stop) => stop.jobs.includes(number));
    const wanted = kept ? kept.finish : field.stops[first].finish;
    const behind = wanted === null ? 0 : day.stops[0].finish - wanted;
    const rounded = Math.round(Math.abs(behind) / 60) * 60;
    const much = rounded === 0 ? "On time" : `${words.minutes(rounded)} ${behind > 0 ? "behind" : "ahead"}`;
    const late = words.late(day, reckoned.where);
    const often = sure && !late ? `In time on ${chance.percent(sure.whole)} of simulated days.` : "";
    return { text: `${much}${late ? `; ${late}` : `; home ${words.reached(day.home)}`}.`, often, late: late !== "" };
  }

  function drawPace() {
    const found = pace();
    const line = one("#pace");
    one("span", line).textContent = found.text;
    if (chance) one("small", line).textContent = found.often || "";
    line.classList.toggle("late", Boolean(found.late));
  }

  function button(text, parent, tapped) {
    const made = element("button", text, parent);
    made.type = "button";
    made.addEventListener("click", tapped);
    return made;
  }

  function drawAnswer() {
    const box = one("#field-answer");
    const plan = keeping.state.field.answer;
    box.replaceChildren();
    if (!plan) return;
    element("p", shown.summed(plan), box).className = "strong";
    element("p", shown.glance(plan), box);
    if (!plan.exact) element("p", shown.lookedAt(plan), box).className = "soft"; // it may be better: before the order
    if (plan.sure) element("p", plan.sure, box);
    shown.drawOrder(plan, box);
    if (plan.exact) element("p", shown.lookedAt(plan), box).className = "soft";
    const actions = element("div", "", box);
    actions.className = "actions";
    button("Keep this", actions, () => keep(plan, `Kept. Follow this order; "Back to the plan" undoes it.`));
    button("Not now", actions, () => keep(keeping.state.field.kept, "Nothing was changed."));
  }

  function keep(plan, sentence) {
    keeping.state.field.kept = plan;
    keeping.state.field.answer = null;
    redraw();
    said.textContent = sentence;
    one("#field").focus();
  }

  /* What was put on at base counts as on board from now on, and what was brought is off. */
  function loadedAgain(back) {
    const { back: load, hives } = state.counted();
    keeping.state.field.again.push({ at: moment(), loaded: back.loads, off: load.map((amount, measure) => amount - hives[measure]) });
    redraw();
    said.textContent = "Counted as on board. Correct it under \u201cOn board\u201d if it was another amount.";
  }

  function drawKept() {
    const box = one("#kept");
    const plan = keeping.state.field.kept;
    box.hidden = !plan;
    box.replaceChildren();
    if (!plan) return;
    element("p", "Kept order, instead of the plan", box).className = "strong";
    shown.drawOrder(plan, box);
    const back = plan.stops.find((stop) => stop.base);
    if (back && keeping.state.field.again.length === plan.again) button(`Loaded again at ${given.base.name}`, box, () => loadedAgain(back.base));
    button("Back to the plan", box, () => keep(null, "Back to the plan."));
  }

  function drawAsked() {
    const { amounts } = state.board();
    all("[data-aboard]").forEach((box) => {
      if (box !== document.activeElement) box.value = String(amounts[Number(box.dataset.aboard)] / 1000);
    });
    if (one("#field-rested")) one("#field-rested").checked = Boolean(keeping.state.field.rested);
    one("#field-from").value = keeping.state.field.from;
    one("#field-here").hidden = !keeping.state.field.here;
    if (one("#field-at") !== document.activeElement) one("#field-at").value = keeping.state.field.at;
    one("#field-day").hidden = isToday();
    one("#field-day").textContent = `This page is of ${given.day}, not of today: the clock is not asked. Type a time of that day.`;
  }

  function draw() {
    drawPace();
    drawAsked();
    drawKept();
    drawAnswer();
  }

  function ask() {
    if (keeping.state.field.at === "" && !isToday()) {
      said.textContent = "Type the time first: this page is of another day.";
      return;
    }
    const at = { ...asked(), begin: begin() };
    if (isToday() && at.now < now() - 60) {
      said.textContent = "That time is past: type a later one, or empty it for now.";
      return;
    }
    const over = state.overload();
    if (over) {
      said.textContent = `As counted by the load list, the ticks and what is typed under \u201cOn board\u201d, ${Math.ceil(over.load / 1000)} ${over.unit} are on board, and the van may carry ${over.most / 1000}: correct it there, or take something off.`;
      return;
    }
    const { asked: question, where } = state.problem(at.begin, at.now);
    if (where.length === 0) {
      said.textContent = "Nothing is left to do: drive home.";
      return;
    }
    said.textContent = "Looking\u2026";
    searched(question, (answer) => {
      keeping.state.field.answer = told.plan(answer, where, at.begin, at.now, chanceWords(answer.part ? fieldAnswer().withPart(question, answer.part) : question, where, answer.day));
      redraw();
      said.textContent = "";
    }, () => {
      said.textContent = "This phone could not work it out. Ask whoever has the program.";
    });
  }

  /* The chance of a new order, from where and when it was asked. */
  function chanceWords(question, where, day) {
    const sure = holds(question, where, day, question.now);
    if (!sure) return "";
    const musts = sure.musts === null || chance.percent(sure.musts) === chance.percent(sure.whole) ? "" : `; its musts on ${chance.percent(sure.musts)}`;
    return `In time, every visit and home, on ${chance.percent(sure.whole)} of ${sure.days.toLocaleString("en-GB")} simulated days${musts}.`;
  }

  one("#field-ask").addEventListener("click", ask);
  document.addEventListener("change", (event) => {
    const box = event.target;
    if (box.matches("[data-job]")) Object.assign(keeping.state.field, { from: "", at: "" }); // it went on
    else if (box.id === "field-rested") keeping.state.field.rested = box.checked ? moment() : "";
    else if (box.id === "field-from") keeping.state.field.from = box.value;
    else if (box.id === "field-at") keeping.state.field.at = box.value;
    else if (box.matches("[data-aboard]")) {
      const supply = Number(box.dataset.aboard);
      const amount = Number(box.value);
      const id = field.materials[supply].id;
      delete keeping.state.field.board[id];
      if (box.value !== "" && amount >= 0 && amount <= 100000) keeping.state.field.board[id] = String(Math.round(amount * 1000) - state.counted().amounts[supply]);
    } else return;
    keeping.state.field.answer = null; // it was to another question
    redraw();
  });
  document.addEventListener("input", (event) => {
    if (!event.target.matches("[data-part]")) return;
    Object.assign(keeping.state.field, { from: "", at: "", answer: null });
    redraw();
  });

  /* Where the phone knows where it is, the nearest stop is offered as the start: its drives are known, the way to it not. */
  function placed(here) {
    const ways = given.stops.filter((stop) => stop.told).map((stop) => ({ index: given.stops.indexOf(stop), way: wayTo(here, stop) }));
    ways.sort((one, other) => one.way.metres - other.way.metres);
    const offered = one("#field-near");
    offered.replaceChildren();
    button(`Start from ${words.name(ways[0].index)}: ${wayWords(ways[0].way, given.units)}, in a straight line`, offered, () => {
      Object.assign(keeping.state.field, { from: String(ways[0].index), answer: null });
      redraw();
    });
    button("Start from where I am, drives estimated", offered, () => {
      Object.assign(keeping.state.field, { from: "here", here: { latitude: here.latitude, longitude: here.longitude }, answer: null });
      redraw();
    });
  }

  setInterval(drawPace, 20000);
  document.addEventListener("visibilitychange", draw);
  return { draw, placed };
}
