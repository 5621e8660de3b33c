/* How likely what is left is done in time, by the rule of the plan: its order lived through on simulated days, each drive
   and each visit taking its seconds times a log-normal factor. Errors go together: of a day, of a site. */
function fieldChance(spread) {
  "use strict";
  const DAYS = 4000; // the standard error of a chance is then at most 0.8 %
  const LEAST_DAYS = 400; // of these days, that go on as this one did until now
  const kept = new Map();

  /* Numbers from 0 to 1 by a 32-bit generator with a multiply and shifts a step; any will do that repeats itself. */
  function generator(text) {
    let state = [...text].reduce((sum, letter) => (Math.imul(sum, 31) + letter.codePointAt(0)) | 0, 17);
    return () => {
      state = (state + 0x9e3779b9) | 0; // the golden ratio of 32 bits
      let mixed = Math.imul(state ^ (state >>> 16), 0x21f0aaad);
      mixed = Math.imul(mixed ^ (mixed >>> 15), 0x735a2d97);
      return ((mixed ^ (mixed >>> 15)) >>> 0) / 4294967296;
    };
  }

  /* For each day a normal number of mean 0. Source: G. Box, M. Muller, A note on the generation of random normal
     deviates, Annals of Mathematical Statistics 29 (1958). */
  function normals(name, deviation) {
    const key = `${name} ${deviation}`;
    if (kept.has(key)) return kept.get(key);
    const dice = generator(key);
    const found = new Float64Array(DAYS);
    for (let day = 0; day < DAYS; day += 2) {
      const radius = deviation * Math.sqrt(-2 * Math.log(1 - dice()));
      const angle = 2 * Math.PI * dice();
      found[day] = radius * Math.cos(angle);
      found[day + 1] = radius * Math.sin(angle);
    }
    kept.set(key, found);
    return found;
  }

  /* `steps` in turn: the drive to each, the break in that gap, work there, when it may begin and must end, its site and
     whether it must be done; `end` is the way home. Returns the shares of days on which all is in time and on which what
     must be done is, null where there is too little to go by: the first step is not over at `now`, as is known. */
  function holding(steps, end, start, now) {
    const [works, drives] = [normals("day of work", spread.day_work), normals("day of drives", spread.day_drive)];
    const factors = steps.map((step, at) => [normals(`drive ${at} ${step.key}`, spread.drive), normals(`visit ${step.key}`, spread.visit), normals(`site ${step.site}`, spread.site)]);
    const last = normals(`drive home ${steps.length}`, spread.drive);
    const early = spread.early_seconds;
    let [days, whole, musts] = [0, 0, 0];
    for (let day = 0; day < DAYS; day += 1) {
      let clock = start;
      let [all, must, over] = [true, true, false];
      for (let at = 0; at < steps.length; at += 1) {
        const step = steps[at];
        const [drive, visit, site] = factors[at];
        const ready = clock + step.drive * Math.exp(drives[day] + drive[day]) + step.rest;
        clock = Math.max(ready, step.opens) + step.work * Math.exp(works[day] + visit[day] + site[day]);
        if (at === 0 && clock < now) {
          over = true;
          break;
        }
        if (clock <= step.closes + early) continue;
        all = false;
        if (step.must) must = false;
      }
      if (over) continue;
      days += 1;
      if (must) musts += 1;
      if (all && clock + end.drive * Math.exp(drives[day] + last[day]) <= end.homeBy + early) whole += 1;
    }
    if (days < LEAST_DAYS) return null;
    return { days, whole: whole / days, musts: steps.some((step) => step.must) ? musts / days : null };
  }

  /* As everywhere: whole per cent, rounded down, never a certainty. */
  function percent(chance) {
    if (chance >= 0.995) return "over 99 %";
    return chance < 0.01 ? "under 1 %" : `${Math.floor(Math.round(chance * 1e8) / 1e6)} %`;
  }

  return { holding, percent };
}

/* The steps of an order that was timed, as days are simulated: both ends of a move, and base where that is come back to. */
function fieldSteps(given, state) {
  const field = given.field;

  function windowOf(windows, jobs, start, finish) {
    const mask = jobs.reduce((sum, number) => sum | (1 << number), 0);
    const found = windows.filter(([opens, closes, which]) => (which & mask) === mask && opens <= start && finish <= closes);
    return found.length ? [Math.min(...found.map((each) => each[0])), Math.max(...found.map((each) => each[1]))] : null;
  }

  /* Null where a stop is late already: then there is nothing to be sure of. */
  function stepsOf(question, where, day) {
    const rest = day.rest;
    const steps = [];
    for (const [at, stop] of day.stops.entries()) {
      const here = where[stop.stop];
      const [opens, closes] = windowOf(question.stops[stop.stop].windows, stop.jobs, stop.start, stop.finish) || [0, -1];
      if (closes < 0) return null;
      const must = stop.jobs.some((number) => question.stops[stop.stop].jobs[number].rank <= 1);
      const before = rest && ((rest.stop === at && rest.start < stop.start) || (rest.stop === at - 1 && rest.start >= day.stops[at - 1].finish)) ? question.breakSeconds : 0;
      if (stop.again) {
        steps.push({ key: "base", site: "base", drive: stop.again.arrive - (at ? day.stops[at - 1].finish : question.now), rest: before, work: question.base.loading, opens: 0, closes: question.homeBy, must: false });
      }
      const index = field.stops[here.index];
      const ends = state.endsOf(here, stop.start, stop.finish);
      const site = (place) => given.stops[place].site;
      const first = { key: `${here.index}`, site: site(ends ? index.at : index.to), drive: stop.drive, rest: stop.again ? 0 : before, work: (ends ? ends.loaded : stop.finish) - stop.start, opens, closes, must };
      steps.push(first);
      if (ends) steps.push({ ...first, key: `${here.index} to`, site: site(index.to), drive: ends.arrive - ends.loaded, rest: 0, work: stop.finish - ends.arrive });
    }
    return steps;
  }

  return { stepsOf };
}
