/* What the search found, in sentences. A time that is reached is rounded up to the minute, as on the rest of the page. */
function fieldWords(given) {
  const field = given.field;
  const hours = new Intl.DateTimeFormat("en-GB", { timeZone: field.zone, hour: "2-digit", minute: "2-digit", hourCycle: "h23" });

  function minuteOf(seconds) {
    return hours.format(new Date((field.midnight + seconds) * 1000));
  }

  function reached(seconds) {
    return minuteOf(Math.ceil((field.midnight + seconds) / 60) * 60 - field.midnight);
  }

  function minutes(seconds) {
    const whole = Math.ceil(seconds / 60);
    return whole < 60 ? `${whole} min` : `${Math.floor(whole / 60)} h ${String(whole % 60).padStart(2, "0")}`;
  }

  function name(index) {
    return `${given.stops[index].mark} ${given.stops[index].name}`;
  }

  /* Of a stop of the search: where its work ends. */
  function ended(index) {
    return name(field.stops[index].to);
  }

  function amount(supply, thousandths) {
    const material = field.materials[supply];
    return `${Math.ceil(thousandths / 100) / 10} ${material.unit} of ${material.name}`;
  }

  function late(day, where) {
    const first = day.stops.find((stop) => stop.late > 0);
    if (first) return `${ended(where[first.stop].index)} would end ${minutes(first.late)} too late`;
    return day.homeLate > 0 ? `home would be ${minutes(day.homeLate)} late` : "";
  }

  function room(why, where) {
    if (why.late > 0) return `put where it is least late, ${ended(where[why.at].index)} would end ${minutes(why.late)} too late`;
    if (why.home > 0) return `put where it is least late, home would be ${minutes(why.home)} late`;
    return "there is no room for it beside the rest";
  }

  function reason(why, where) {
    const words = {
      shut: () => "there is no time on this day in which it may be done",
      board: () => `not enough is on board: ${amount(why.supply, why.amount)} more`,
      "no way": () => "no way there from here, or from there home, is known to this page",
      alone: () => (why.late > 0 ? `going straight there, work would still end ${minutes(why.late)} too late` : `even alone it would make home ${minutes(why.home)} late`),
      "board beside": () => `${amount(why.supply, why.amount)} more would be needed beside the rest`,
      load: () => "with it the van would carry more than it may",
      room: () => room(why, where),
    };
    return words[why.what]();
  }

  return { minuteOf, reached, minutes, name, late, reason };
}
