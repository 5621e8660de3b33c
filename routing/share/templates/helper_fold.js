
/* What is read once is folded away under its title until it is asked for. Without this script all of it stands open; paper
   holds all of it too. The stop that comes next is open. */
const FOLDED = ["load", "calls", "day", "near", "field", "help", "care", "did", "more"];

function startFolds(list) {
  let next = null;

  function set(box, open) {
    box.classList.toggle("shut", !open);
    one(".fold", box).setAttribute("aria-expanded", String(open));
  }

  function fold(box, title) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "fold";
    button.append(...title.childNodes);
    title.append(button);
    button.addEventListener("click", () => set(box, box.classList.contains("shut")));
    set(box, false);
  }

  function openAround(target) {
    const box = target && target.closest(".shut");
    if (box) set(box, true);
  }

  for (const name of FOLDED) {
    const section = document.getElementById(name);
    if (section) fold(section, one("h2", section));
  }
  for (const card of all(".stop[data-stop]")) fold(card, one("h3", card));
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[href^='#']");
    if (link) openAround(document.getElementById(link.hash.slice(1)));
  });
  document.addEventListener("focusin", (event) => {
    if (event.target.matches("section, [data-stop]")) openAround(event.target);
  });
  window.addEventListener("hashchange", () => openAround(document.getElementById(location.hash.slice(1))));

  function drawNext() {
    const stop = list.next();
    const mark = stop ? stop.mark : "";
    if (mark !== next && mark) set(one(`.stop[data-stop="${mark}"]`), true);
    next = mark;
  }

  openAround(document.getElementById(location.hash.slice(1)));
  return { drawNext };
}
