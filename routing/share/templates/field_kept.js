/* What is kept of the question what still fits: nothing that something else wrote there gets past. */
function fieldKept(kept) {
  const given = JSON.parse(one("#given").textContent);
  const jobs = (stop) => given.stops.filter((each) => each.site === stop.site || each === stop).flatMap((each) => each.jobs.map((job) => job.number));
  const marks = new Map(given.stops.map((stop) => [stop.mark, jobs(stop)]));
  const places = ["", "-1", ...given.stops.map((_, index) => String(index))];
  const whole = (value) => Number.isInteger(value) && Math.abs(value) < 10000000;
  const text = (value, longest) => typeof value === "string" && value.length <= longest;

  function stop(each) {
    return marks.has(each.mark) && Array.isArray(each.jobs) && (each.jobs.length > 0 || marks.get(each.mark).length === 0) && each.jobs.every((job) => marks.get(each.mark).includes(job))
      && [each.arrive, each.start, each.finish].every(whole);
  }

  function dropped(each) {
    return marks.has(each.mark) && marks.get(each.mark).includes(each.job) && text(each.why, 300);
  }

  function plan(value) {
    try {
      const rest = value.rest === null || (marks.has(value.rest.stop) && whole(value.rest.start));
      const sound = whole(value.at) && places.includes(String(value.from)) && value.from !== "" && whole(value.home) && text(value.place, 200) && typeof value.exact === "boolean" && rest
        && value.stops.every(stop) && value.dropped.every(dropped);
      return sound ? value : null;
    } catch (error) {
      if (error instanceof TypeError) return null; // of another shape
      throw error;
    }
  }

  const board = kept.board && typeof kept.board === "object" ? kept.board : {};
  return {
    board: Object.fromEntries(Object.entries(board).filter((pair) => text(pair[1], 12) && /^-?\d{1,10}$/.test(pair[1]))),
    rested: text(kept.rested, 20) ? kept.rested : "",
    from: places.includes(kept.from) ? kept.from : "",
    at: text(kept.at, 5) && /^([01]\d|2[0-3]):[0-5]\d$/.test(kept.at) ? kept.at : "",
    answer: plan(kept.answer),
    kept: plan(kept.kept),
  };
}
