
/* The text to send back: lines of `word: value` for the reading program, lines with # for people. */
function reportText(given, state, sent) {
  const lines = ["what-i-did: 1", `round: ${given.round}`, `crew: ${given.crew}`, `date: ${given.date}`, `sent: ${sent}`];
  let done = 0;
  let open = 0;
  lines.push(`# ${given.title}`);
  for (const stop of given.stops.filter((each) => each.told && (!each.near || touched(given, each, state)))) {
    lines.push("", `site: ${stop.site}`, `# ${stop.mark} ${stop.name}`);
    for (const job of stop.jobs) {
      const time = state.done[job.number];
      const [begun, some] = (state.parts[job.number] || "").split(" ");
      const stores = state.stores[job.number];
      if (time) lines.push(`done: ${time} ${job.id}`);
      else lines.push(some ? `part: ${begun} ${job.id}` : `left: ${job.id}`);
      lines.push(`# ${job.words}`);
      if (job.kind) lines.push(`kind: ${job.kind}`);
      if (time || some) lines.push(`hives: ${time ? job.hives : some} of ${job.hives}`);
      const used = job.feed ? state.used[job.number] : undefined;
      if (used && (time || some)) lines.push(`used: ${Math.round(used * (time ? job.hives : some) * 1000) / 1000} ${job.feed}`);
      if (stores && (time || some)) lines.push(`stores: ${stores}`);
      if (time) done += 1;
      else open += 1;
    }
    const kept = keptWords(given, state, stop);
    if (kept) lines.push(`kept: ${kept}`);
    const note = (state.notes[stop.mark] || "").replace(/[\s\p{Cc}]+/gu, " ").trim();
    if (note) lines.push(`note: ${note}`);
  }
  lines.push("", `end: ${done} done, ${open} left`, "");
  return lines.join("\n");
}

/* Whether anything was done, kept or written at what is near; else nobody waits for it. */
function touched(given, stop, state) {
  const kept = state.field.kept && state.field.kept.stops.some((row) => stopsOf(given, row).includes(stop));
  return Boolean(kept || (state.notes[stop.mark] || "").trim() || stop.jobs.some((job) => state.done[job.number] || state.parts[job.number]));
}

/* Which place the stop has in the order that was kept in the field, and when it was to be finished. */
function keptWords(given, state, stop) {
  const plan = state.field.kept;
  if (!plan) return "";
  const place = plan.stops.findIndex((row) => stopsOf(given, row).includes(stop));
  if (place < 0) return plan.dropped.some((each) => each.mark === stop.mark) ? "left out" : "";
  const finish = new Date((given.field.midnight + plan.stops[place].finish) * 1000);
  return `${place + 1} of ${plan.stops.length}, ${finish.toISOString().replace(/\.\d+Z$/, "Z")}`;
}

function startReport(given, keeping) {
  const box = one("#report");
  const said = one("#report-said");

  function fresh() {
    box.value = reportText(given, keeping.state, moment());
    return box.value;
  }

  function copyBySelecting() {
    box.focus();
    box.select();
    const copied = document.execCommand("copy");
    said.textContent = copied ? "Copied." : "This browser does not copy by itself: the text is selected, copy it by hand.";
  }

  one("#copy").addEventListener("click", () => {
    const text = fresh();
    if (!navigator.clipboard) return copyBySelecting();
    return navigator.clipboard.writeText(text).then(() => {
      said.textContent = "Copied.";
    }, copyBySelecting);
  });

  one("#save").addEventListener("click", () => {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([fresh()], { type: "text/plain" }));
    link.download = given.file;
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
    said.textContent = `Saved as ${given.file}. If no file is there, copy the text instead.`;
  });

  const send = one("#send");
  if (navigator.share) {
    send.hidden = false;
    send.addEventListener("click", () => {
      navigator.share({ text: fresh() }).then(
        () => {
          said.textContent = "Handed over.";
        },
        (error) => {
          said.textContent = error.name === "AbortError" ? "Not sent." : "This phone would not send it: copy the text instead.";
        },
      );
    });
  }
  return { fresh };
}
