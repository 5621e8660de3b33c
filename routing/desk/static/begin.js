// A new farm, the example, the road map and the first jobs.
"use strict";
(function () {
  const byId = (id) => document.getElementById(id);

  function sent(form) {
    const fields = desk.fields(form), chosen = form.querySelector("select[name='map']");
    if (chosen) {
      fields.map = chosen.value === "" ? null : Number(chosen.value);
      fields.map_name = chosen.value === "" ? "" : chosen.selectedOptions[0].dataset.name;
    }
    if ("pick" in fields) fields.pick = Number(fields.pick);
    return fields;
  }

  async function send(form, url) {
    const button = form.querySelector("button");
    button.disabled = true;
    const answer = await desk.post(url, sent(form));
    button.disabled = false;
    return answer;
  }

  function wire(id, url, then) {
    const form = byId(id);
    if (!form) return;
    form.addEventListener("submit", async function (event) {
      event.preventDefault();
      const answer = await send(form, url);
      if (answer && then) then(form, answer);
    });
  }

  function ask(form, answer) {
    const group = byId("new-choices");
    if (!answer.choices) return;
    group.replaceChildren(group.querySelector("legend"));
    for (const [number, words] of answer.choices.entries()) {
      const label = document.createElement("label"), radio = document.createElement("input"), inner = document.createElement("bdi");
      radio.type = "radio";
      radio.name = "pick";
      radio.value = String(number);
      inner.textContent = words;
      label.append(radio, " ", inner);
      const line = document.createElement("p");
      line.append(label);
      group.append(line);
    }
    group.hidden = false;
    group.querySelector("input").focus();
  }

  wire("new-farm", "/begin/new", ask);
  wire("choose-map", "/begin/map");
  wire("first-jobs", "/begin/jobs");
  const base = byId("new-base");
  if (base) base.addEventListener("input", function () { // other words: what was chosen among counts no more
    const group = byId("new-choices");
    group.replaceChildren(group.querySelector("legend"));
    group.hidden = true;
  });
  if (byId("open-example")) byId("open-example").addEventListener("click", () => desk.post("/begin/example"));
})();
