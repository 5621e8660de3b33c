/* The answer to what still fits: of the orders without base, with it, and with some of a job's hives, the best. */
function fieldAnswer() {
  "use strict";
  const whole = fieldSearch();
  const beam = fieldBeam();
  const { fits, enough, scoreOf, compare, dayOf, keeps, withJob, whyNot } = fieldDays();
  const { loadedAgain, fromBase } = fieldLoad();
  const { mayBeDone, reduced } = fieldReach();
  const MOST_PART_STEPS = 4 * whole.MOST_STEPS; // of all tables for some of a job's hives together
  const BEAM_STEPS = MOST_PART_STEPS / 3; // what a beam counts as among them, so that few are tried

  function up(value) {
    return Math.ceil(Math.round(value * 1e6) / 1e6);
  }

  /* The same with so many of a job's hives. */
  function withPart(problem, { stop, job, hives }) {
    const whole = problem.stops[stop].jobs[job];
    const some = (uses) => uses.map(([supply, each]) => [supply, up(each * hives)]);
    const part = { ...whole, work: up(whole.each * hives), uses: some(whole.usesEach), brings: some(whole.bringsEach), weight: Math.floor((whole.whole * hives) / whole.of), hives: 0 };
    const stops = problem.stops.map((each, index) => (index === stop ? { ...each, jobs: each.jobs.map((one, number) => (number === job ? part : one)) } : each));
    return { ...problem, stops };
  }

  /* What can be had of each supply on so many trips. */
  function stock(problem, trips) {
    return problem.board.map((amount, supply) => (trips === 1 ? amount : problem.base.stock[supply] === null ? Infinity : amount + problem.base.stock[supply]));
  }

  function mostHives(job, left) {
    let most = job.hives;
    for (const [supply, each] of job.usesEach) {
      if (each > 0 && left[supply] < up(each * most)) most = Math.min(most, Math.floor(left[supply] / each + 1e-9));
      while (most > 0 && up(each * most) > left[supply]) most -= 1;
    }
    return most;
  }

  /* By job that may be done in part, and by hives, the most that such a day can be worth: that of the best set beside it
     which leaves so much, as `run` has seen them. */
  function watcher(problem, trips) {
    const jobs = problem.stops.flatMap((stop, at) => stop.jobs.map((job, number) => ({ stop: at, job: number, most: job.hives || 0, tops: [] }))).filter((each) => each.most > 1 && problem.stops[each.stop].jobs[each.job].usesEach.length > 0);
    const had = stock(problem, trips);
    function note(left, score, view) {
      for (const each of jobs) {
        if (view && view.has(each.stop, each.job)) continue;
        const most = mostHives(problem.stops[each.stop].jobs[each.job], left);
        if (most < 1 || most >= each.most) continue;
        if (!each.tops[most] || compare(score, each.tops[most]) > 0) each.tops[most] = Array.from(score);
      }
    }
    note(had, [0, 0, 0, 0]);
    return {
      seen: (view, score) => {
        const left = had.slice();
        for (const job of view.jobs(problem).flatMap((each) => each || [])) for (const [supply, amount] of job.uses) left[supply] -= amount;
        note(left, score, view);
      },
      groups: () => jobs.flatMap((each) => groupsOf(problem, each)).sort((one, other) => compare(other.top, one.top)),
    };
  }

  function groupsOf(problem, { stop, job, most, tops }) {
    const whole = problem.stops[stop].jobs[job];
    const found = [];
    let top = null;
    for (let hives = most - 1; hives >= 1; hives -= 1) {
      if (tops[hives] && (!top || compare(tops[hives], top) > 0)) top = tops[hives];
      if (!top) continue;
      const worth = top.slice();
      worth[whole.rank] += Math.floor((whole.whole * hives) / whole.of);
      found.push({ stop, job, hives, top: worth });
    }
    return found;
  }

  function better(one, other) {
    if (!one) return -1;
    if (!other) return 1;
    return compare(one.score, other.score) || other.dirty - one.dirty || other.home - one.home;
  }

  /* The best with all of each job's hives, and where not enough is there for them, with some of the hives of one. */
  function bestOf(problem, trips) {
    const all = whole.small(problem, trips);
    const { run } = all ? whole : beam;
    const each = all ? whole.sizeOf(problem, trips).steps : BEAM_STEPS;
    const everything = problem.stops.flatMap((stop) => stop.jobs);
    const lacking = !enough(problem, trips === 1 ? everything : [], trips === 1 ? null : everything);
    const watched = lacking ? watcher(problem, trips) : null;
    let found = run(problem, trips, null, watched && watched.seen);
    let steps = 0;
    for (const part of watched ? watched.groups() : []) {
      if (found && compare(part.top, found.score) < 0) break;
      steps += each;
      if (steps > MOST_PART_STEPS) return { found, exact: false };
      const tried = run(withPart(problem, part), trips, (view) => view.has(part.stop, part.job) && !enough(problem, ...view.jobs(problem)));
      if (better(tried, found) > 0) found = { ...tried, part };
    }
    return { found, exact: all };
  }

  /* Beyond what a beam holds: the jobs that matter most, and of the rest what still fits beside them. */
  function most(problem) {
    const jobs = problem.stops.flatMap((stop, at) => stop.jobs.map((job, number) => ({ job, stop: at, number })));
    jobs.sort((one, other) => one.job.rank - other.job.rank || other.job.weight - one.job.weight);
    const first = jobs.slice(0, beam.MOST_JOBS);
    const less = reduced(problem, (stop, number) => first.some((each) => each.stop === stop && each.number === number));
    let order = less.back(beam.run(less.problem, 1) || { order: [] }).order;
    for (const { stop, number } of jobs) order = withJob(order, (tried) => keeps(problem, tried), stop, number) || order;
    return { order };
  }

  function search(asked) {
    const problem = { ...asked, hives: asked.hives || [0, 0], supplies: asked.supplies };
    const less = reduced(problem);
    const everything = less.problem.stops.flatMap((stop) => stop.jobs);
    if (everything.length > beam.MOST_JOBS) return told(problem, most(problem), { exact: false, base: "" });
    let { found, exact } = bestOf(less.problem, 1);
    let base = "";
    if (problem.base && !fits(problem, everything)) {
      base = "looked at";
      const again = bestOf(less.problem, 2);
      exact = exact && again.exact;
      if (again.found && better(again.found, found) > 0) found = again.found;
    }
    if (found && !exact) found = inBestOrder(less.problem, found);
    return told(problem, anew(problem, less.back(found || { order: [] })), { exact, base });
  }

  /* What a beam found in the best order that there is for it, where that can be looked at in full. */
  function inBestOrder(problem, found) {
    const asDone = found.part ? withPart(problem, found.part) : problem;
    const trips = found.order.some((each) => each.base) ? 2 : 1;
    const less = reduced(asDone, (stop, number) => found.order.some((each) => each.stop === stop && each.jobs.includes(number)));
    const tried = whole.small(less.problem, trips) ? whole.run(less.problem, trips) : null;
    if (!tried || compare(tried.score, found.score) !== 0 || better(tried, found) <= 0) return found;
    return { ...beam.completed(asDone, trips, less.back(tried)), part: found.part };
  }

  /* The trip from base looked at anew with what is on board then: the search before it held all that the trip brings
     against the payload as if at once. */
  function anew(problem, found) {
    const turn = found.order.findIndex((each) => each.base);
    if (turn < 0) return found;
    const asDone = found.part ? withPart(problem, found.part) : problem;
    const [first, later] = [found.order.slice(0, turn), found.order.slice(turn)];
    const jobs = (order) => order.flatMap((each) => each.jobs.map((number) => asDone.stops[each.stop].jobs[number]));
    const last = first.length ? first[first.length - 1] : { finish: problem.now, rested: false };
    const back = first.length ? problem.home[last.stop] : problem.outHome;
    const { rested } = later[0]; // before base, or there
    const leave = last.finish + back + problem.base.loading + (rested && !last.rested ? problem.breakSeconds : 0);
    const from = {
      ...asDone,
      now: leave,
      breakSeconds: rested ? 0 : problem.breakSeconds,
      breakAfter: Math.max(0, problem.now + problem.breakAfter - leave),
      out: problem.base.out,
      outHome: 0,
      base: null,
      ...fromBase(asDone, jobs(first), jobs(later)),
    };
    const mayBe = mayBeDone(from);
    const less = reduced(from, (stop, number) => mayBe(stop, number) && !first.some((each) => each.stop === stop && each.jobs.includes(number)));
    const tried = (whole.small(less.problem, 1) ? whole : beam).run(less.problem, 1);
    if (!tried) return found;
    if (better(tried, { score: scoreOf(jobs(later)), dirty: found.dirty && !rested, home: found.home }) <= 0) return found;
    const { order } = less.back(tried);
    return { ...found, order: [...first, { ...order[0], base: true }, ...order.slice(1)] };
  }

  function told(problem, found, { exact, base }) {
    const { order, part } = found;
    const asDone = part ? withPart(problem, part) : problem;
    const day = dayOf(asDone, order);
    const jobs = (each) => each.jobs.map((number) => asDone.stops[each.stop].jobs[number]);
    const dropped = problem.stops.flatMap((stop, index) => stop.jobs
      .map((_, number) => number)
      .filter((number) => !order.some((each) => each.stop === index && each.jobs.includes(number)))
      .map((number) => ({ stop: index, job: number, why: whyNot(asDone, order, index, number) })));
    const back = order.findIndex((each) => each.base);
    const again = back < 0 ? null : loadedAgain(asDone, order.slice(0, back).flatMap(jobs), order.slice(back).flatMap(jobs));
    return { exact, base, day, dropped, again, part: part ? { stop: part.stop, job: part.job, hives: part.hives } : null, score: scoreOf(order.flatMap(jobs)) };
  }

  return { search, withPart };
}
