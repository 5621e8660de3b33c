/* Behind or ahead, and what still fits: asked here, searched in a worker, kept or not. */
function startField(given, keeping, list, redraw) {
  const field = given.field;
  if (!field) return { draw: () => {}, placed: () => {} };
  const state = fieldState(given, keeping);
  const words = fieldWords(given);
  const searched = startSearch();
  const said = one("#field-said");

  function element(tag, text, parent) {
    const made = document.createElement(tag);
    made.textContent = text;
    if (parent) parent.append(made);
    return made;
  }

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

  function asked() {
    const last = state.last();
    const chosen = keeping.state.field.from;
    const from = chosen === "" ? (last ? last.stop : -1) : Number(chosen);
    const at = keeping.state.field.at;
    const before = from < 0 && !last ? Math.max(now(), field.leave) : now();
    return { from, now: at === "" ? before : typed(at) };
  }

  /* Where and when what is followed goes on: the last tick, or the question whose answer was kept since. */
  function begun(last) {
    const kept = keeping.state.field.kept;
    if (kept && (!last || last.at <= kept.at)) return { from: kept.from, at: kept.at };
    return last ? { from: last.stop, at: last.at } : { from: -1, at: field.leave };
  }

  /* The order that is followed, from the last tick on, as if nobody waited for the clock; then never sooner than now. */
  function pace() {
    if (!isToday()) return { text: `This page is of ${given.day}, not of today.` };
    const last = state.last();
    if (!last && !keeping.state.field.kept && now() < field.leave) return { text: `Not left yet: leave by ${words.minuteOf(field.leave)}.` };
    const since = begun(last);
    const reckoned = state.problem(since.from, since.at);
    const order = state.followed(reckoned.where);
    if (order.length === 0) return { text: keeping.state.field.kept ? "All that was kept is done: home." : "All done: home." };
    let day = fieldDays().dayOf(reckoned.asked, order);
    if (day && day.stops[0].finish < now()) {
      reckoned.asked.breakAfter -= now() - day.stops[0].finish;
      reckoned.asked.now += now() - day.stops[0].finish;
      day = fieldDays().dayOf(reckoned.asked, order);
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
    return { text: `${much}${late ? `; ${late}` : `; home ${words.reached(day.home)}`}.`, late: late !== "" };
  }

  function drawPace() {
    const found = pace();
    const line = one("#pace");
    one("span", line).textContent = found.text;
    line.classList.toggle("late", Boolean(found.late));
  }

  function markOf(stop, end) {
    return given.stops[field.stops[stop.index][end]].mark;
  }

  /* The stop of an order as it is shown; a move is two. */
  function shownStops(stop, where) {
    const here = where[stop.stop];
    const jobs = stop.jobs.map((job) => state.jobsOf(here.index)[here.jobs[job]].number);
    const times = { arrive: stop.arrive, start: stop.start, finish: stop.finish };
    const ends = state.endsOf(here, stop.start, stop.finish);
    if (!ends) {
      const shown = stop.jobs.map((job) => state.shownOf(here.index, here.jobs[job]));
      const own = shown.find((each) => !each.near) || shown[0];
      return [{ mark: own.mark, jobs, ...times }];
    }
    return [
      { mark: markOf(here, "at"), jobs: [], ...times, finish: ends.loaded },
      { mark: markOf(here, "to"), jobs, arrive: ends.arrive, start: ends.arrive, finish: stop.finish },
    ];
  }

  /* What is shown and kept: marks, numbers of jobs, seconds and sentences; nothing else of the search. A break before
     the work of a move is where its hives are loaded, one after it where they are set down. */
  function told(answer, where, from, at) {
    const { rest } = answer.day;
    const rested = rest ? answer.day.stops[rest.stop] : null;
    return {
      at,
      from,
      place: from < 0 ? given.start || given.base.name : words.name(from),
      home: answer.day.home,
      exact: answer.exact,
      rest: rest ? { stop: shownStops(rested, where).at(rest.start < rested.finish ? 0 : -1).mark, start: rest.start } : null,
      stops: answer.day.stops.flatMap((stop) => shownStops(stop, where)),
      dropped: answer.dropped.map(({ stop, job, why }) => ({
        mark: state.shownOf(where[stop].index, where[stop].jobs[job]).mark,
        job: state.jobsOf(where[stop].index)[where[stop].jobs[job]].number,
        why: words.reason(why, where).slice(0, 300),
      })),
    };
  }

  function jobWords(number) {
    const job = given.stops.flatMap((stop) => stop.jobs).find((each) => each.number === number);
    const left = state.hivesLeft(job);
    return left > 0 && left < job.hives ? `${job.words}: ${left} of ${job.hives} hives left` : job.words;
  }

  function nameOf(mark) {
    return `${mark} ${given.stops.find((stop) => stop.mark === mark).name}`;
  }

  function drawOrder(plan, box) {
    element("p", `From ${plan.place} at ${words.minuteOf(plan.at)}:`, box);
    const rows = element("ol", "", box);
    rows.className = "order";
    for (const stop of plan.stops) {
      const row = element("li", "", rows);
      const link = element("a", nameOf(stop.mark), row);
      link.href = `#stop-${stop.mark}`;
      const waits = stop.start > stop.arrive ? `arrive ${words.reached(stop.arrive)}, ` : "";
      element("span", `${waits}${words.reached(stop.start)} to ${words.reached(stop.finish)}`, row);
      for (const number of stop.jobs) element("span", `${jobWords(number)}${isNear(number) ? "; not in the plan" : ""}`, row).className = "soft";
      if (plan.rest && plan.rest.stop === stop.mark) element("span", `Break there from ${words.reached(plan.rest.start)}.`, row).className = "soft";
    }
    if (plan.stops.length === 0) element("p", "None of what is left still fits.", box);
    element("p", `Home ${words.reached(plan.home)}.`, box).className = "strong";
    drawDropped("Left out", plan.dropped.filter((each) => !isNear(each.job)), box);
    drawDropped("Near, and does not fit", plan.dropped.filter((each) => isNear(each.job)), box);
  }

  function drawDropped(title, dropped, box) {
    if (dropped.length === 0) return;
    element("h3", title, box);
    const left = element("ul", "", box);
    left.className = "plain";
    for (const each of dropped) element("li", `${nameOf(each.mark)}, ${jobWords(each.job)}: ${each.why}.`, left);
  }

  function button(text, parent, tapped) {
    const made = element("button", text, parent);
    made.type = "button";
    made.addEventListener("click", tapped);
    return made;
  }

  function isNear(number) {
    return given.stops.find((stop) => stop.jobs.some((job) => job.number === number)).near;
  }

  /* The answer in a sentence: of the plan first, then of what is near. */
  function summed(plan) {
    const done = plan.stops.flatMap((stop) => stop.jobs);
    const planned = done.filter((number) => !isNear(number)).length;
    const dropped = plan.dropped.filter((each) => !isNear(each.job)).length;
    const more = done.length - planned;
    const near = more ? ` And ${more} more near the way.` : "";
    if (planned + dropped === 0) return more ? `All of the plan is done. Still fits: ${more} more near the way.` : "All of the plan is done; nothing near fits.";
    return `${dropped === 0 ? "All that is left still fits." : `Still fits: ${planned} of the ${planned + dropped} jobs left; ${dropped} left out.`}${near}`;
  }

  function drawAnswer() {
    const box = one("#field-answer");
    const plan = keeping.state.field.answer;
    box.replaceChildren();
    if (!plan) return;
    element("p", summed(plan), box).className = "strong";
    element("p", plan.exact ? "Every set of the jobs left was looked at, in every order." : "There is too much left to look at every order: this is the best that was found.", box).className = "soft";
    drawOrder(plan, box);
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

  function drawKept() {
    const box = one("#kept");
    const plan = keeping.state.field.kept;
    box.hidden = !plan;
    box.replaceChildren();
    if (!plan) return;
    element("p", "Kept order, instead of the plan", box).className = "strong";
    drawOrder(plan, box);
    button("Back to the plan", box, () => keep(null, "Back to the plan."));
  }

  function drawAsked() {
    const { amounts } = state.board();
    all("[data-aboard]").forEach((box) => {
      if (box !== document.activeElement) box.value = String(amounts[Number(box.dataset.aboard)] / 1000);
    });
    if (one("#field-rested")) one("#field-rested").checked = Boolean(keeping.state.field.rested);
    one("#field-from").value = keeping.state.field.from;
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
    const at = asked();
    if (isToday() && at.now < now() - 60) {
      said.textContent = "That time is past: type a later one, or empty it for now.";
      return;
    }
    const { asked: question, where } = state.problem(at.from, at.now);
    if (where.length === 0) {
      said.textContent = "Nothing is left to do: drive home.";
      return;
    }
    said.textContent = "Looking\u2026";
    searched(question, (answer) => {
      keeping.state.field.answer = told(answer, where, at.from, at.now);
      redraw();
      said.textContent = "";
    }, () => {
      said.textContent = "This phone could not work it out. Ask whoever has the program.";
    });
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
    const ways = given.stops.map((stop, index) => ({ index, way: wayTo(here, stop) }));
    ways.sort((one, other) => one.way.metres - other.way.metres);
    const offered = one("#field-near");
    offered.replaceChildren();
    button(`Start from ${words.name(ways[0].index)}: ${wayWords(ways[0].way, given.units)}, in a straight line`, offered, () => {
      Object.assign(keeping.state.field, { from: String(ways[0].index), answer: null });
      redraw();
    });
  }

  setInterval(drawPace, 20000);
  document.addEventListener("visibilitychange", draw);
  return { draw, placed };
}
