
/* Where am I: only when asked, only in this page; straight line and bearing to the next stop. */
const EARTH_METRES = 6371008.8; // mean radius of GRS 80: Moritz, Journal of Geodesy 74 (2000)
const WINDS = ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"];

function wayTo(from, to) {
  const radians = (value) => (value * Math.PI) / 180;
  const [south, north] = [radians(from.latitude), radians(to.latitude)];
  const across = radians(to.longitude - from.longitude);
  const half = Math.sin((north - south) / 2) ** 2 + Math.cos(south) * Math.cos(north) * Math.sin(across / 2) ** 2;
  const turn = Math.atan2(
    Math.sin(across) * Math.cos(north),
    Math.cos(south) * Math.sin(north) - Math.sin(south) * Math.cos(north) * Math.cos(across),
  );
  return { metres: 2 * EARTH_METRES * Math.asin(Math.min(1, Math.sqrt(half))), bearing: ((turn * 180) / Math.PI + 360) % 360 };
}

function wayWords(way, units) {
  const [metres, name] = units === "km" ? [1000, "km"] : [1609.344, "miles"];
  const bearing = Math.round(way.bearing) % 360;
  return `${(way.metres / metres).toFixed(1)} ${name} to the ${WINDS[Math.round(way.bearing / 45) % 8]}, bearing ${String(bearing).padStart(3, "0")}\u00b0`;
}

const NO_PLACE = {
  1: "This phone does not give its position to this page. Allow it in the browser's settings; a page opened from a file may never be allowed it.",
  2: "The phone does not know where it is just now. Go into the open and try again.",
  3: "No position within 30 seconds. Go into the open and try again.",
};

function startPlace(given, list, onFound) {
  const said = one("#place-said");

  function found(position) {
    const here = position.coords;
    const at = `${here.latitude.toFixed(5)}, ${here.longitude.toFixed(5)}`;
    const next = list.next() || given.base;
    const way = wayWords(wayTo(here, next), given.units);
    const name = next.mark ? `Next stop ${next.mark} ${next.name}` : "Base";
    said.textContent = `You are at ${at}, give or take ${Math.ceil(here.accuracy)} m. ${name}: ${way}, in a straight line.`;
    one("#here").textContent = `${at} (give or take ${Math.ceil(here.accuracy)} m, at ${clock(position.timestamp)})`;
    onFound(here);
  }

  function ask() {
    if (!navigator.geolocation) {
      said.textContent = "This browser gives no position to a page that is opened this way.";
      return;
    }
    said.textContent = "Looking for the position\u2026";
    navigator.geolocation.getCurrentPosition(found, (error) => {
      said.textContent = NO_PLACE[error.code];
    }, { enableHighAccuracy: true, timeout: 30000, maximumAge: 0 });
  }

  all("[data-where]").forEach((button) => button.addEventListener("click", ask));
}
