/* The sets of work of a question, in the numbers of `field_days.js`: how many there are, what is in each, what it is worth,
   and what it takes. A set is a number with a digit for each job: 0 where it is not done, else the trip on which it is.

   What sums over the jobs of a set is added up of two halves, the lower digits and the higher: each is known beforehand. */
function fieldFrame() {
  "use strict";
  const { secondsOf } = fieldDays();
  const { placesOf, addTo } = fieldLoad();
  const MOST_JOBS = 10; // of a stop whose sets of jobs are gone through
  const MOST_STATES = 6000000; // 24 MB of the table
  const MOST_STEPS = 12000000; // 0.3 s on a desk, some seconds on a slow phone; a day of 14 stops with a job each takes 1.6 million
  const RANKS = 4;

  function choicesOf(stop, trips) {
    const each = trips + 1;
    const size = each ** stop.jobs.length;
    const found = { size, by: [null], taken: new Int32Array(size), trip: new Uint8Array(size) };
    for (let digits = 0; digits < size; digits += 1) {
      stop.jobs.forEach((_, number) => {
        const trip = Math.floor(digits / each ** number) % each;
        if (trip) found.taken[digits] |= 1 << number;
        found.trip[digits] = Math.max(found.trip[digits], trip);
      });
    }
    for (let trip = 1; trip <= trips; trip += 1) found.by.push(sets(stop).map((choice) => ({ ...choice, trip, add: choice.jobs.reduce((sum, number) => sum + trip * each ** number, 0) })));
    return found;
  }

  /* Every set of a stop's jobs that a window is for. */
  function sets(stop) {
    const found = [];
    for (let mask = 1; mask < 1 << stop.jobs.length; mask += 1) {
      const spans = stop.windows.filter((each) => (each[2] & mask) === mask).sort((a, b) => a[0] - b[0]);
      const jobs = stop.jobs.map((_, number) => number).filter((number) => mask & (1 << number));
      if (spans.length > 0) found.push({ mask, jobs, spans, seconds: secondsOf(stop, jobs) });
    }
    return found;
  }

  /* How large the table is, without making it. */
  function sizeOf(problem, trips) {
    const counts = problem.stops.map((stop) => stop.jobs.length);
    const count = counts.reduce((sum, each) => sum + each, 0);
    const suspects = problem.stops.some((stop) => stop.last);
    const breaks = problem.breakSeconds > 0 ? (suspects ? 3 : 2) : 1;
    const each = trips + 1;
    const lasts = counts.reduce((sum, jobs) => sum + 1 - 1 / each ** jobs, 0);
    const nexts = counts.reduce((sum, jobs) => sum + trips * ((1 + 1 / each) ** jobs - 1), 0); // sets of a stop's jobs that do not meet
    const all = each ** count;
    return { breaks, states: all * problem.stops.length * breaks, steps: all * lasts * nexts * breaks };
  }

  function small(problem, trips) {
    const size = sizeOf(problem, trips);
    const count = problem.stops.reduce((sum, stop) => sum + stop.jobs.length, 0);
    return count <= 30 && problem.stops.every((stop) => stop.jobs.length <= MOST_JOBS) && size.states <= MOST_STATES && size.steps <= MOST_STEPS;
  }

  function frameOf(problem, trips) {
    const choices = problem.stops.map((stop) => choicesOf(stop, trips));
    const strides = [];
    let all = 1;
    for (const choice of choices) {
      strides.push(all);
      all *= choice.size;
    }
    const jobs = problem.stops.flatMap((stop, at) => stop.jobs.map((job, number) => ({ job, stop: at, number })));
    return { problem, stops: choices.length, choices, strides, sets: all, trips, each: trips + 1, jobs, breaks: sizeOf(problem, trips).breaks, sums: sumsOf(problem, jobs, trips) };
  }

  function digit(frame, set, stop) {
    return Math.floor(set / frame.strides[stop]) % frame.choices[stop].size;
  }

  function tripOf(frame, set) {
    let found = 0;
    for (let stop = 0; stop < frame.stops; stop += 1) found = Math.max(found, frame.choices[stop].trip[digit(frame, set, stop)]);
    return found;
  }

  /* On which trip a job is done in a set, 0 for on none. */
  function tripOfJob(frame, set, stop, number) {
    return Math.floor(digit(frame, set, stop) / frame.each ** number) % frame.each;
  }

  function sumsOf(problem, jobs, trips) {
    const load = placesOf(problem);
    const wide = load.wide + RANKS;
    const half = jobs.length >> 1;
    return { load, wide, below: (trips + 1) ** half, low: rowsOf(load, wide, jobs.slice(0, half), trips), high: rowsOf(load, wide, jobs.slice(half), trips), row: new Float64Array(load.wide), score: new Float64Array(RANKS) };
  }

  /* A row of sums for each set of these jobs: weights by rank, then what `field_load.js` adds up. */
  function rowsOf(load, wide, jobs, trips) {
    let found = new Float64Array(wide);
    for (const { job } of jobs) {
      const count = found.length;
      const more = new Float64Array(count * (trips + 1));
      for (let trip = 0; trip <= trips; trip += 1) {
        const own = new Float64Array(load.wide);
        if (trip) addTo(own, load, job, trip > 1);
        for (let at = 0; at < count; at += wide) {
          const to = trip * count + at;
          for (let place = 0; place < wide; place += 1) more[to + place] = found[at + place] + (place < RANKS ? 0 : own[place - RANKS]);
          if (trip) more[to + job.rank] += job.weight;
        }
      }
      found = more;
    }
    return found;
  }

  /* The weights of a set by rank, and what it uses and brings: each a row that the next question writes anew. */
  function scoreAt({ sums }, set) {
    const [high, low] = [Math.floor(set / sums.below) * sums.wide, (set % sums.below) * sums.wide];
    for (let rank = 0; rank < RANKS; rank += 1) sums.score[rank] = sums.low[low + rank] + sums.high[high + rank];
    return sums.score;
  }

  function loadAt({ sums }, set) {
    const [high, low] = [Math.floor(set / sums.below) * sums.wide + RANKS, (set % sums.below) * sums.wide + RANKS];
    for (let place = 0; place < sums.load.wide; place += 1) sums.row[place] = sums.low[low + place] + sums.high[high + place];
    return sums.row;
  }

  return { sizeOf, small, frameOf, digit, tripOf, tripOfJob, scoreAt, loadAt, MOST_STEPS };
}
