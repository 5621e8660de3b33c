/* From the page's numbers, ticks and clock to what the search is asked. Seconds count from the midnight of the page's day. */
function fieldState(given, keeping) {
  const field = given.field;

  /* The hives of a job that are still to be done: none where it is ticked. */
  function hivesLeft(job) {
    if (job.number in keeping.state.done) return 0;
    const part = keeping.state.parts[job.number];
    return job.hives - (part ? Math.min(job.hives, Number(part.split(" ")[1])) : 0);
  }

  function up(value) {
    return Math.ceil(Math.round(value * 1e6) / 1e6);
  }

  function seconds(moment) {
    return Math.floor(Date.parse(moment) / 1000) - field.midnight;
  }

  /* The last tick, and the stop that it is at. */
  function last() {
    let found = null;
    given.stops.forEach((stop, index) => stop.jobs.forEach((job) => {
      const tick = keeping.state.done[job.number] || (keeping.state.parts[job.number] || "").split(" ")[0];
      if (tick && (!found || seconds(tick) >= found.at)) found = { stop: index, at: seconds(tick) };
    }));
    return found;
  }

  /* In thousandths: what was loaded less what the ticked hives took, as reckoned or as typed. */
  function counted() {
    const amounts = field.materials.map((each) => each.loaded);
    const back = [0, 0];
    given.stops.forEach((stop, index) => stop.jobs.forEach((job, number) => {
      const done = job.hives - hivesLeft(job);
      const here = field.stops[index].jobs[number];
      if (done === 0) return;
      for (const [supply, each] of here.uses) {
        const typed = job.feed === field.materials[supply].id ? keeping.state.used[job.number] : undefined;
        amounts[supply] -= up((typed === undefined ? each : Number(typed) * 1000) * done);
      }
      for (const [supply, each] of here.brings) {
        back[0] += up(each * done) * field.materials[supply].grams;
        back[1] += up(each * done) * field.materials[supply].millilitres;
      }
    }));
    return { amounts, back };
  }

  /* A correction by hand is kept as a difference, so that later ticks still count. */
  function board() {
    const { amounts, back } = counted();
    const corrected = amounts.map((amount, supply) => {
      const more = keeping.state.field.board[field.materials[supply].id];
      return Math.max(0, amount + (more === undefined ? 0 : Number(more)));
    });
    return { amounts: corrected, back };
  }

  function jobOf(index, number) {
    const here = field.stops[index].jobs[number];
    const job = given.stops[index].jobs[number];
    const left = hivesLeft(job);
    const share = (uses) => uses.map(([supply, each]) => [supply, up(each * left)]);
    return {
      setUp: here.setUp,
      work: up(here.each * left),
      rank: here.rank,
      weight: Math.floor((here.weight * left) / job.hives),
      uses: share(here.uses),
      brings: share(here.brings),
      left,
    };
  }

  /* What the search is asked, and for each of its stops and jobs which one of the page it is. `from` is the number of a
     stop, -1 for base. */
  function problem(from, now) {
    const open = given.stops.map((stop, index) => ({ index, jobs: stop.jobs.map((_, number) => number).filter((number) => hivesLeft(stop.jobs[number]) > 0) }))
      .filter((each) => each.jobs.length > 0);
    const { amounts, back } = board();
    const rested = Boolean(keeping.state.field.rested);
    const out = from < 0 && !last() ? now : field.leave;
    const row = (place) => open.map((each) => field.seconds[place][each.index + 1]);
    return {
      where: open,
      asked: {
        now,
        homeBy: field.home_by,
        breakSeconds: rested ? 0 : field.break,
        breakAfter: Math.min(out, now) + field.break_after - now,
        out: row(from + 1),
        home: open.map((each) => field.seconds[each.index + 1][0]),
        outHome: field.seconds[from + 1][0],
        drives: open.map((each) => row(each.index + 1)),
        payload: field.payload,
        space: field.space,
        brought: back,
        board: amounts,
        supplies: field.materials.map((each) => ({ grams: each.grams, millilitres: each.millilitres })),
        stops: open.map(({ index, jobs }) => ({
          walk: field.stops[index].walk,
          last: field.stops[index].last,
          windows: field.stops[index].windows.map(([opens, closes, mask]) => [opens, closes, jobs.reduce((sum, number, place) => sum | (mask & (1 << number) ? 1 << place : 0), 0)]),
          jobs: jobs.map((number) => jobOf(index, number)),
        })),
      },
    };
  }

  /* The order that is followed: what was kept, else the plan; only what is left of it. */
  function followed(where) {
    const kept = keeping.state.field.kept;
    const order = kept ? kept.stops : given.stops.map((stop) => ({ mark: stop.mark, jobs: stop.jobs.map((job) => job.number) }));
    return order.flatMap(({ mark, jobs }) => {
      const stop = where.findIndex((each) => given.stops[each.index].mark === mark);
      if (stop < 0) return [];
      const places = where[stop].jobs.map((number, place) => (jobs.includes(given.stops[where[stop].index].jobs[number].number) ? place : -1));
      const here = places.filter((place) => place >= 0);
      return here.length ? [{ stop, jobs: here }] : [];
    });
  }

  return { problem, followed, last, board, counted, hivesLeft };
}
