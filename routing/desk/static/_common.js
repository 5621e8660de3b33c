// What every page of the desk has: `desk.post` sends a change as the guard wants it, `desk.tell` says what came of it.
"use strict";
const desk = (function () {
  const STOPPED = "The desk does not answer. Was it closed? Open it again with outyard.";

  const TOLD = "told";

  function tell(lines, trouble) {
    const place = document.getElementById("messages");
    place.replaceChildren();
    place.classList.toggle("trouble", Boolean(trouble));
    for (const line of lines) {
      const told = document.createElement("p");
      const words = document.createElement("bdi");
      words.textContent = line;
      told.append(words);
      place.append(told);
    }
    if (lines.length) place.scrollIntoView({ block: "nearest" });
  }

  // Returns what the desk answers, or null after it has told what is wrong.
  async function post(url, fields) {
    let answer, found;
    try {
      answer = await fetch(url, {
        method: "POST",
        headers: { "Content-Type": "application/json", "Desk-Farm": document.body.dataset.farm },
        body: JSON.stringify(fields || {}),
      });
      found = (answer.headers.get("Content-Type") || "").startsWith("application/json")
        ? await answer.json()
        : { lines: [await answer.text()] };
    } catch {
      tell([STOPPED], true);
      return null;
    }
    if (!answer.ok) {
      tell(found.lines || [STOPPED], true);
      return null;
    }
    if (found.go) leadOn(found);
    else if (found.lines) tell(found.lines, false);
    return found;
  }

  // What came of a change is told on the page that it leads to.
  function leadOn(found) {
    if (found.go === window.location.pathname + window.location.search) return anew(found.lines);
    if (found.lines) sessionStorage.setItem(TOLD, JSON.stringify(found.lines));
    window.location.assign(found.go);
  }

  // Loads this page again, which then tells these lines.
  function anew(lines) {
    if (lines) sessionStorage.setItem(TOLD, JSON.stringify(lines));
    window.location.reload();
  }

  document.addEventListener("DOMContentLoaded", function () {
    const told = sessionStorage.getItem(TOLD);
    sessionStorage.removeItem(TOLD);
    if (told) tell(JSON.parse(told), false);
  });

  // What was unfolded in a view stays so when the view is loaded again, after something was changed in it.
  document.addEventListener("DOMContentLoaded", function () {
    const where = "unfolded " + window.location.pathname;
    const unfolded = new Set(JSON.parse(sessionStorage.getItem(where) || "[]"));
    for (const part of document.querySelectorAll("details[data-keep]")) {
      if (unfolded.has(part.dataset.keep)) part.open = true;
      part.addEventListener("toggle", function () {
        if (part.open) unfolded.add(part.dataset.keep);
        else unfolded.delete(part.dataset.keep);
        sessionStorage.setItem(where, JSON.stringify([...unfolded]));
      });
    }
  });

  // The fields of a form by their names: a tick is true or false, a number stays as it was typed.
  function fields(form) {
    const found = {};
    for (const field of form.elements) {
      if (!field.name || field.disabled) continue;
      if (field.type === "checkbox") found[field.name] = field.checked;
      else if (field.type === "radio") {
        if (field.checked) found[field.name] = field.value;
      } else found[field.name] = field.value;
    }
    return found;
  }

  return { post, tell, anew, fields };
})();
