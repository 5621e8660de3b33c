/* What the search found as it is shown and kept: marks, numbers of jobs, seconds and sentences; nothing else of it. */
function fieldTold(given, keeping, state, words) {
  const field = given.field;

  function markOf(stop, end) {
    return given.stops[field.stops[stop.index][end]].mark;
  }

  /* The stop of an order as it is shown; a move is two. */
  function shownStops(stop, where) {
    const here = where[stop.stop];
    const jobs = stop.jobs.map((job) => state.jobsOf(here.index)[here.jobs[job]].number);
    const times = { base: null, arrive: stop.arrive, start: stop.start, finish: stop.finish };
    const ends = state.endsOf(here, stop.start, stop.finish);
    if (!ends) {
      const shown = stop.jobs.map((job) => state.shownOf(here.index, here.jobs[job]));
      const own = shown.find((each) => !each.near) || shown[0];
      return [{ mark: own.mark, jobs, ...times }];
    }
    return [
      { mark: markOf(here, "at"), jobs: [], ...times, finish: ends.loaded },
      { mark: markOf(here, "to"), jobs, base: null, arrive: ends.arrive, start: ends.arrive, finish: stop.finish },
    ];
  }

  function withBase(stop, answer, where) {
    const shown = shownStops(stop, where);
    if (stop.again) shown[0].base = { ...stop.again, loads: answer.again };
    return shown;
  }

  /* A break before the work of a move is where its hives are loaded, one after it where they are set down. */
  function restOf({ rest, stops }, where) {
    if (!rest) return null;
    const rested = stops[rest.stop];
    return { stop: shownStops(rested, where).at(rest.start < rested.finish ? 0 : -1).mark, start: rest.start, atBase: rest.atBase };
  }

  function partOf(part, where) {
    if (!part) return null;
    const job = state.jobsOf(where[part.stop].index)[where[part.stop].jobs[part.job]];
    return { job: job.number, hives: part.hives, until: job.hives - state.hivesLeft(job) + part.hives };
  }

  function plan(answer, where, begin, at, sure) {
    return {
      at,
      begin,
      place: state.start.words(begin),
      caution: state.start.caution(begin),
      home: answer.day.home,
      exact: answer.exact,
      sure,
      base: answer.base,
      again: keeping.state.field.again.length,
      part: partOf(answer.part, where),
      rest: restOf(answer.day, where),
      stops: answer.day.stops.flatMap((stop) => withBase(stop, answer, where)),
      dropped: answer.dropped.map(({ stop, job, why }) => ({
        mark: state.shownOf(where[stop].index, where[stop].jobs[job]).mark,
        job: state.jobsOf(where[stop].index)[where[stop].jobs[job]].number,
        why: words.reason(why, where).slice(0, 300),
      })),
    };
  }

  return { plan };
}
