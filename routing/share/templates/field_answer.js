/* The answer to what still fits: of the orders without base, with it, and with some of a job's hives, the best. */
function fieldAnswer() {
  "use strict";
  const whole = fieldSearch();
  const beam = fieldBeam();
  const { fits, enough, scoreOf, compare, dayOf, keeps, withJob, whyNot } = fieldDays();
  const { placesOf, enoughFor, loadedAgain, fromBase } = fieldLoad();
  const { mayBeDone, reduced } = fieldReach();
  const MOST_PART_STEPS = 4 * whole.MOST_STEPS; // of all tables for some of a job's hives together
  const BEAM_STEPS = MOST_PART_STEPS / 3; // what a beam counts as among them, so that few are tried

  function up(value) {
    return Math.ceil(Math.round(value * 1e6) / 1e6);
  }

  function partWeight(job, hives) {
    return Math.floor((job.whole * hives) / job.of);
  }

  /* The same with so many of a job's hives. */
  function withPart(problem, { stop, job, hives }) {
    const whole = problem.stops[stop].jobs[job];
    const some = (uses) => uses.map(([supply, each]) => [supply, up(each * hives)]);
    const part = { ...whole, work: up(whole.each * hives), uses: some(whole.usesEach), brings: some(whole.bringsEach), weight: partWeight(whole, hives), hives: 0 };
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
     which leaves so much, of those that it has `seen`. A set may be left away where it is not `asked` for: with some of any
     job's hives it would still be worth less than `least`. */
  function watcher(problem, trips) {
    const jobs = problem.stops.flatMap((stop, at) => stop.jobs.map((job, number) => ({ stop: at, job: number, most: job.hives || 0, tops: [] }))).filter((each) => each.most > 1 && problem.stops[each.stop].jobs[each.job].usesEach.length > 0);
    const had = stock(problem, trips);
    const at = placesOf(problem);
    const left = had.slice();
    const gains = [0, 0, 0, 0];
    for (const { stop, job, most } of jobs) gains[problem.stops[stop].jobs[job].rank] = Math.max(gains[problem.stops[stop].jobs[job].rank], partWeight(problem.stops[stop].jobs[job], most - 1));
    function note(score, view) {
      for (const each of jobs) {
        const most = mostHives(problem.stops[each.stop].jobs[each.job], left);
        if (most < 1 || most >= each.most || (each.tops[most] && compare(score, each.tops[most]) <= 0)) continue;
        if (!view || !view.tripOf(each.stop, each.job)) each.tops[most] = Array.from(score);
      }
    }
    note([0, 0, 0, 0], null);
    return {
      asked: (score, least) => gains.some((gain, rank) => gain > 0 && reaches(score, rank, gain, least)),
      seen: (view, score) => {
        const row = view.load();
        for (let supply = 0; supply < had.length; supply += 1) left[supply] = had[supply] - row[supply] - row[at.thenUsed + supply];
        note(score, view);
      },
      groups: () => jobs.flatMap((each) => groupsOf(problem, each)).sort((one, other) => compare(other.top, one.top)),
    };
  }

  /* Whether a score with so much more of one rank is no less than the least. */
  function reaches(score, rank, gain, least) {
    for (let at = 0; at < least.length; at += 1) {
      const more = score[at] + (at === rank ? gain : 0) - least[at];
      if (more !== 0) return more > 0;
    }
    return true;
  }

  function groupsOf(problem, { stop, job, most, tops }) {
    const whole = problem.stops[stop].jobs[job];
    const found = [];
    let top = null;
    for (let hives = most - 1; hives >= 1; hives -= 1) {
      if (tops[hives] && (!top || compare(tops[hives], top) > 0)) top = tops[hives];
      if (!top) continue;
      const worth = top.slice();
      worth[whole.rank] += partWeight(whole, hives);
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
    const each = all ? whole.sizeOf(problem, trips).steps : BEAM_STEPS;
    const everything = problem.stops.flatMap((stop) => stop.jobs);
    const lacking = !enough(problem, trips === 1 ? everything : [], trips === 1 ? null : everything);
    const watched = lacking ? watcher(problem, trips) : null;
    const looked = (all ? whole : beam).looked(problem, trips, watched);
    let found = looked.best;
    let steps = 0;
    for (const part of watched ? watched.groups() : []) {
      if (found && compare(part.top, found.score) < 0) break;
      steps += each;
      if (steps > MOST_PART_STEPS) return { found, exact: false };
      const tried = looked.part(withPart(problem, part), part, lacks(problem, part), found);
      if (better(tried, found) > 0) found = { ...tried, part };
    }
    return { found, exact: all };
  }

  /* Says of a day with some of a job's hives whether there is not enough for all of them. */
  function lacks(problem, { stop, job, hives }) {
    const at = placesOf(problem);
    const whole = problem.stops[stop].jobs[job].uses;
    const some = withPart(problem, { stop, job, hives }).stops[stop].jobs[job].uses;
    return (view) => {
      const trip = view.tripOf(stop, job);
      const row = view.load();
      const first = trip > 1 ? at.thenUsed : 0;
      whole.forEach(([supply, amount]) => { row[first + supply] += amount; });
      some.forEach(([supply, amount]) => { row[first + supply] -= amount; });
      return trip > 0 && !enoughFor(problem, at, row);
    };
  }

  /* Beyond what a beam holds: the jobs that matter most, and of the rest what still fits beside them. */
  function most(problem) {
    const jobs = problem.stops.flatMap((stop, at) => stop.jobs.map((job, number) => ({ job, stop: at, number })));
    jobs.sort((one, other) => one.job.rank - other.job.rank || other.job.weight - one.job.weight);
    const first = jobs.slice(0, beam.MOST_JOBS);
    const less = reduced(problem, (stop, number) => first.some((each) => each.stop === stop && each.number === number));
    let order = less.back(beam.looked(less.problem, 1).best || { order: [] }).order;
    for (const { stop, number } of jobs) order = withJob(order, (tried) => keeps(problem, tried), stop, number) || order;
    return { order };
  }

  function search(asked) {
    const problem = { ...asked, hives: asked.hives || [0, 0], supplies: asked.supplies };
    const less = reduced(problem);
    const everything = less.problem.stops.flatMap((stop) => stop.jobs);
    if (everything.length > beam.MOST_JOBS) return told(problem, less.back(most(less.problem)), { exact: false, base: "" });
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
    const tried = whole.small(less.problem, trips) ? whole.looked(less.problem, trips).best : null;
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
    const tried = (whole.small(less.problem, 1) ? whole : beam).looked(less.problem, 1).best;
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
