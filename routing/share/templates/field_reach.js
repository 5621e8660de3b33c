/* What some day may do at all: the rest makes the question no larger. `replan` leaves away the same (`rest_places.py`). */
function fieldReach() {
  "use strict";
  const { secondsOf } = fieldDays();

  function way(seconds) {
    return seconds < 0 ? Infinity : seconds;
  }

  /* The least seconds to each stop from where the crew stands, and from each home, by whatever stops, with no break. */
  function quickest(problem) {
    const { base } = problem;
    const again = (back, to) => (base ? way(back) + base.loading + way(base.out[to]) : Infinity);
    const drives = problem.stops.map((_, from) => problem.stops.map((__, to) => (from === to ? 0 : Math.min(way(problem.drives[from][to]), again(problem.home[from], to)))));
    const out = problem.stops.map((_, to) => Math.min(way(problem.out[to]), again(problem.outHome, to)));
    problem.stops.forEach((_, by) => {
      drives.forEach((row) => row.forEach((seconds, to) => { row[to] = Math.min(seconds, row[by] + drives[by][to]); }));
      out.forEach((seconds, to) => { out[to] = Math.min(seconds, out[by] + drives[by][to]); });
    });
    const home = drives.map((row) => Math.min(...row.map((seconds, last) => seconds + way(problem.home[last]))));
    return { out, home };
  }

  /* By the quickest ways there are; of what there is not enough for, some of the hives. */
  function mayBeDone(problem) {
    const { out, home } = quickest(problem);
    const had = (supply) => (!problem.base ? problem.board[supply] : problem.base.stock[supply] === null ? Infinity : problem.board[supply] + problem.base.stock[supply]);
    return (stop, number) => {
      const here = problem.stops[stop];
      const job = here.jobs[number];
      if (!here.windows.some((each) => each[2] & (1 << number))) return false;
      if (job.uses.some(([supply, amount]) => amount > had(supply))) return job.hives > 1 && job.usesEach.length > 0;
      const seconds = secondsOf(here, [number]);
      return here.windows.some(([opens, closes, mask]) => {
        const ends = Math.max(problem.now + out[stop], opens) + seconds;
        return mask & (1 << number) && ends <= closes && ends + home[stop] <= problem.homeBy;
      });
    };
  }

  /* The question of these jobs alone, and what turns its answer back into one of the whole. */
  function reduced(problem, wanted = mayBeDone(problem)) {
    const at = problem.stops.map((stop, index) => ({ index, jobs: stop.jobs.map((_, number) => number).filter((number) => wanted(index, number)) })).filter((each) => each.jobs.length > 0);
    const of = (row) => at.map((each) => row[each.index]);
    const less = {
      ...problem,
      out: of(problem.out),
      home: of(problem.home),
      drives: of(problem.drives).map(of),
      base: problem.base && { ...problem.base, out: of(problem.base.out) },
      stops: at.map(({ index, jobs }) => ({
        ...problem.stops[index],
        jobs: jobs.map((number) => problem.stops[index].jobs[number]),
        windows: problem.stops[index].windows.map(([opens, closes, mask]) => [opens, closes, jobs.reduce((sum, number, place) => sum | (mask & (1 << number) ? 1 << place : 0), 0)]).filter((each) => each[2]),
      })),
    };
    const back = (found) => ({
      ...found,
      order: found.order.map((each) => ({ ...each, stop: at[each.stop].index, jobs: each.jobs.map((job) => at[each.stop].jobs[job]) })),
      part: found.part && { ...found.part, stop: at[found.part.stop].index, job: at[found.part.stop].jobs[found.part.job] },
    });
    return { problem: less, back };
  }

  return { mayBeDone, reduced };
}
