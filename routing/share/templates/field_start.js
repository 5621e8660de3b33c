/* Where the crew goes on from: a shown stop or base, a drive between two of them, or a place that the phone knows. */
function fieldStart(given) {
  const field = given.field;

  function metresBetween(here, there) {
    return wayTo(here, there).metres;
  }

  /* The seconds for a metre of the straight line, as the day's own drives have it: their median. */
  function slowness() {
    const places = [given.base, ...given.stops];
    const found = [];
    places.forEach((here, from) => places.forEach((there, to) => {
      const metres = metresBetween(here, there);
      if (from !== to && metres > 300 && field.seconds[from][to] > 0) found.push(field.seconds[from][to] / metres);
    }));
    found.sort((one, other) => one - other);
    return found.length ? found[Math.floor(found.length / 2)] : 0.12; // 30 km/h in a straight line, where there is no drive to go by
  }

  /* The seconds from there to a place of the table of drives, below zero where there is no way. In mid-drive one goes on
     to its end or turns back, whichever is nearer. */
  function to(begin, place) {
    if (begin.kind === "here") return Math.ceil(slowness() * metresBetween(begin, place === 0 ? given.base : given.stops[place - 1]));
    if (begin.kind === "stop") return field.seconds[begin.from + 1][place];
    const [from, end] = [begin.from + 1, begin.to + 1];
    const whole = field.seconds[from][end];
    const on = field.seconds[end][place];
    const back = field.seconds[from][place];
    const ways = [end === place ? whole - begin.gone : on < 0 ? -1 : whole - begin.gone + on, from === place ? begin.gone : back < 0 ? -1 : begin.gone + back];
    const known = ways.filter((seconds) => seconds >= 0);
    return known.length ? Math.min(...known) : -1;
  }

  function name(index) {
    return index < 0 ? given.start || given.base.name : `${given.stops[index].mark} ${given.stops[index].name}`;
  }

  function words(begin) {
    if (begin.kind === "here") return "where the phone is";
    if (begin.kind === "stop") return name(begin.from);
    return `from ${name(begin.from)} to ${name(begin.to)}`;
  }

  /* What is not as sure as the drives of the plan. */
  function caution(begin) {
    if (begin.kind === "here") return "The first drive is estimated from the straight line, by the drives of this day.";
    if (begin.kind === "way") return `The first drive counts ${Math.round(begin.gone / 60)} min as driven, to go on or to turn back.`;
    return "";
  }

  function sound(begin) {
    const known = (index) => Number.isInteger(index) && index >= -1 && index < given.stops.length;
    if (!begin) return false;
    if (begin.kind === "here") return Math.abs(begin.latitude) <= 90 && Math.abs(begin.longitude) <= 180;
    if (begin.kind === "way") return known(begin.from) && known(begin.to) && Number.isInteger(begin.gone) && begin.gone >= 0 && begin.gone < 100000;
    return begin.kind === "stop" && known(begin.from);
  }

  return { to, words, caution, sound };
}
