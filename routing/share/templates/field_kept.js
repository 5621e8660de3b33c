/* What is kept of the question what still fits: nothing that something else wrote there gets past. */
function fieldKept(kept) {
  const given = JSON.parse(one("#given").textContent);
  const jobs = (stop) => given.stops.filter((each) => each.site === stop.site || each === stop).flatMap((each) => each.jobs.map((job) => job.number));
  const marks = new Map(given.stops.map((stop) => [stop.mark, jobs(stop)]));
  const places = ["", "way", "here", "-1", ...given.stops.map((_, index) => String(index))];
  const whole = (value) => Number.isInteger(value) && Math.abs(value) < 10000000;
  const text = (value, longest) => typeof value === "string" && value.length <= longest;

  const amounts = (value) => Array.isArray(value) && value.length <= 1000 && value.every((each) => Number.isFinite(each) && each >= 0);
  const start = given.field ? fieldStart(given) : null;

  function stop(each) {
    const base = each.base === null || ([each.base.arrive, each.base.start, each.base.finish].every(whole) && amounts(each.base.loads));
    return marks.has(each.mark) && Array.isArray(each.jobs) && (each.jobs.length > 0 || marks.get(each.mark).length === 0) && each.jobs.every((job) => marks.get(each.mark).includes(job))
      && [each.arrive, each.start, each.finish].every(whole) && base;
  }

  function dropped(each) {
    return marks.has(each.mark) && marks.get(each.mark).includes(each.job) && text(each.why, 300);
  }

  function plan(value) {
    try {
      const rest = value.rest === null || (marks.has(value.rest.stop) && whole(value.rest.start) && typeof value.rest.atBase === "boolean");
      const part = value.part === null || ([...marks.values()].flat().includes(value.part.job) && whole(value.part.hives) && whole(value.part.until));
      const sound = whole(value.at) && start.sound(value.begin) && whole(value.home) && text(value.place, 400) && text(value.caution, 400) && text(value.sure, 200) && text(value.base, 20) && whole(value.again) && typeof value.exact === "boolean" && rest && part
        && value.stops.every(stop) && value.dropped.every(dropped);
      return sound ? value : null;
    } catch (error) {
      if (error instanceof TypeError) return null; // of another shape
      throw error;
    }
  }

  function here(value) {
    return value && Math.abs(value.latitude) <= 90 && Math.abs(value.longitude) <= 180 ? { latitude: Number(value.latitude), longitude: Number(value.longitude) } : null;
  }

  const again = Array.isArray(kept.again) ? kept.again.filter((one) => one && amounts(one.loaded) && amounts(one.off) && one.off.length === 2 && text(one.at, 20)) : [];
  const board = kept.board && typeof kept.board === "object" ? kept.board : {};
  return {
    board: Object.fromEntries(Object.entries(board).filter((pair) => text(pair[1], 12) && /^-?\d{1,10}$/.test(pair[1]))),
    rested: text(kept.rested, 20) ? kept.rested : "",
    from: places.includes(kept.from) ? kept.from : "",
    at: text(kept.at, 5) && /^([01]\d|2[0-3]):[0-5]\d$/.test(kept.at) ? kept.at : "",
    here: here(kept.here),
    again,
    answer: plan(kept.answer),
    kept: plan(kept.kept),
  };
}
