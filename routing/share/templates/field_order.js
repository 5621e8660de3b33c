/* An order that was found or kept, as a list and as the line of the day. */
function fieldOrder(given, state, words) {
  const field = given.field;
  const MOST_NAMED = 5; // left-out stops in the answer's second sentence
  const SVG = "http://www.w3.org/2000/svg";

  function element(tag, text, parent) {
    const made = document.createElement(tag);
    made.textContent = text;
    if (parent) parent.append(made);
    return made;
  }

  function isNear(number) {
    return given.stops.find((stop) => stop.jobs.some((job) => job.number === number)).near;
  }

  function jobWords(number, part) {
    const job = given.stops.flatMap((stop) => stop.jobs).find((each) => each.number === number);
    const left = state.hivesLeft(job);
    if (part && part.job === number) return `${job.words}: ${Math.max(0, part.until - job.hives + left)} of the ${left} hives left, as far as what is on board goes`;
    return left > 0 && left < job.hives ? `${job.words}: ${left} of ${job.hives} hives left` : job.words;
  }

  function nameOf(mark) {
    return `${mark} ${given.stops.find((stop) => stop.mark === mark).name}`;
  }

  /* The answer in a sentence: of the plan first, then of what is near. */
  function summed(plan) {
    const done = plan.stops.flatMap((stop) => stop.jobs);
    const planned = done.filter((number) => !isNear(number)).length;
    const dropped = plan.dropped.filter((each) => !isNear(each.job)).length;
    const more = done.length - planned;
    if (planned + dropped === 0) return more ? `All of the plan is done. Still fits: ${more} more near the way.` : "All of the plan is done; nothing near fits.";
    const near = more ? ` And ${more} more near the way.` : "";
    const part = plan.part ? " One of them at some of its hives." : "";
    return `${dropped === 0 ? "All that is left still fits." : `Still fits: ${planned} of the ${planned + dropped} jobs left; ${dropped} left out.`}${part}${near}`;
  }

  function isMust(number) {
    return field.stops.some((stop, at) => state.jobsOf(at).some((job, place) => job.number === number && stop.jobs[place].rank <= 1));
  }

  /* What a tired reader has to know before all else: where nobody will go, and when it is home. */
  function glance(plan) {
    const left = plan.dropped.filter((each) => !isNear(each.job));
    const marks = [...new Set(left.map((each) => each.mark))];
    const named = marks.slice(0, MOST_NAMED).map((mark) => `${nameOf(mark)}${left.some((each) => each.mark === mark && isMust(each.job)) ? " (must)" : ""}`);
    if (marks.length > MOST_NAMED) named.push(`${marks.length - MOST_NAMED} more`);
    return `${named.length ? `Left out: ${named.join(", ")}. ` : ""}Home ${words.reached(plan.home)}.`;
  }

  /* How it was looked for. */
  function lookedAt(plan) {
    const back = { "looked at": plan.stops.some((stop) => stop.base) ? "" : " Going back to base for more was looked at: it does no more.", "too much": " Going back to base for more was not looked at: there is too much left." };
    return `${plan.exact ? "Every set of the jobs left was looked at, in every order." : "There is too much left to look at every order: this is the best that was found."}${back[plan.base] || ""}`;
  }

  function drawBase(back, rest, rows) {
    const row = element("li", "", rows);
    element("b", `Back at ${given.base.name}`, row);
    element("span", `${words.reached(back.arrive)}, leave ${words.reached(back.finish)}`, row);
    const loads = field.materials.map((each, supply) => (back.loads[supply] > 0 ? `${each.name}, ${back.loads[supply] / 1000} ${each.unit}` : "")).filter(Boolean);
    element("span", `Take off what was brought. ${loads.length ? `Load ${loads.join("; ")}.` : ""}`, row).className = "soft";
    if (rest) element("span", `Break there from ${words.reached(rest.start)}.`, row).className = "soft";
  }

  function drawOrder(plan, box) {
    element("p", `${plan.begin.kind === "way" ? "On the way" : "From"} ${plan.place} at ${words.minuteOf(plan.at)}:`, box);
    if (plan.caution) element("p", plan.caution, box).className = "soft";
    const rows = element("ol", "", box);
    rows.className = "order";
    for (const stop of plan.stops) {
      const rests = plan.rest && plan.rest.stop === stop.mark ? plan.rest : null;
      if (stop.base) drawBase(stop.base, rests && rests.atBase ? rests : null, rows);
      const row = element("li", "", rows);
      const link = element("a", nameOf(stop.mark), row);
      link.href = `#stop-${stop.mark}`;
      const waits = stop.start > stop.arrive ? `arrive ${words.reached(stop.arrive)}, ` : "";
      element("span", `${waits}${words.reached(stop.start)} to ${words.reached(stop.finish)}`, row);
      for (const number of stop.jobs) element("span", `${jobWords(number, plan.part)}${isNear(number) ? "; not in the plan" : ""}`, row).className = "soft";
      if (rests && !rests.atBase) element("span", `Break there from ${words.reached(rests.start)}.`, row).className = "soft";
    }
    if (plan.stops.length === 0) element("p", "None of what is left still fits.", box);
    element("p", `Home ${words.reached(plan.home)}.`, box).className = "strong";
    if (plan.stops.length > 0) {
      box.append(dayLine(plan));
      const way = element("a", "This order on the map: the broken line", element("p", "", box));
      way.href = "#map";
    }
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

  function drawn(tag, attributes, parent, text) {
    const made = document.createElementNS(SVG, tag);
    for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, String(value));
    if (text !== undefined) made.textContent = text;
    if (parent) parent.append(made);
    return made;
  }

  /* From now to home: work as blocks under their marks, the break and base as lighter ones, drives as the line between,
     whole hours below. */
  function dayLine(plan) {
    const width = 320;
    const [first, last] = [plan.at, Math.max(plan.home, plan.at + 60)];
    const at = (seconds) => Math.round((8 + ((seconds - first) / (last - first)) * (width - 16)) * 10) / 10;
    const told = plan.stops.map((stop) => `${nameOf(stop.mark)} ${words.reached(stop.start)} to ${words.reached(stop.finish)}`).join("; ");
    const svg = drawn("svg", { viewBox: `0 0 ${width} 62`, class: "kept-line", role: "img", "aria-label": `The line of this order: ${told}; home ${words.reached(plan.home)}` });
    drawn("line", { x1: at(first), x2: at(last), y1: 28, y2: 28, class: "drive" }, svg);
    let shown = -20;
    const block = (start, finish, kind) => drawn("rect", { x: at(start), y: 20, width: Math.max(2, at(finish) - at(start)), height: 16, class: kind }, svg);
    if (plan.rest) block(plan.rest.start, plan.rest.start + field.break, "rest");
    for (const stop of plan.stops) {
      if (stop.base) block(stop.base.start, stop.base.finish, "rest");
      block(stop.start, stop.finish, "work");
      const middle = (at(stop.start) + at(stop.finish)) / 2;
      if (middle - shown < 13) continue; // a mark that would lie on another
      drawn("text", { x: middle, y: 14, class: "mark-of" }, svg, stop.mark);
      shown = middle;
    }
    const hours = Math.ceil((last - first) / 3600 / 6); // as many as have room
    for (let hour = Math.ceil(first / 3600); hour * 3600 <= last; hour += 1) {
      drawn("line", { x1: at(hour * 3600), x2: at(hour * 3600), y1: 38, y2: 42, class: "drive" }, svg);
      if (hour % hours === 0) drawn("text", { x: Math.min(Math.max(at(hour * 3600), 16), width - 16), y: 56, class: "hour" }, svg, words.minuteOf(hour * 3600));
    }
    return svg;
  }

  return { drawOrder, summed, glance, lookedAt, element };
}
