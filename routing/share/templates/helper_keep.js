/* Keeps ticks and notes on this phone in two places, under the name of this exact round; in a page that was locked, in
   the encrypted store that unlocking made, which has two places itself. What was saved more often is the later. Where
   the phone refuses, they live until the page is closed, and `works` says so. */
function startKeeping(key) {
  const PART = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ [1-9]\d{0,3}$/;
  const TIME = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ$/;
  const store = window.lockedStore;
  const second = store ? null : secondStore();
  let refused = false;
  let looked = false;
  let elsewhere = false; // whether the second place took what was saved last

  function texts(value, fits) {
    return Object.fromEntries(Object.entries(value || {}).filter((pair) => typeof pair[1] === "string" && fits(pair[1])));
  }

  function sound(kept) {
    return {
      done: texts(kept.done, (text) => TIME.test(text)),
      parts: texts(kept.parts, (text) => PART.test(text)),
      stores: texts(kept.stores, (text) => /^\d{1,3}(\.\d{1,3})?$/.test(text) && Number(text) <= 100),
      used: texts(kept.used, (text) => /^\d{1,3}(\.\d{1,3})?$/.test(text) && Number(text) <= 100),
      loaded: texts(kept.loaded, (text) => TIME.test(text)),
      notes: texts(kept.notes, (text) => text.length <= 1000),
      field: fieldKept(kept.field || {}),
      saved: Number.isSafeInteger(kept.saved) && kept.saved > 0 ? kept.saved : 0,
    };
  }

  function read() {
    if (store) return understood(store.text);
    let text = null;
    try {
      text = localStorage.getItem(key);
    } catch (error) {
      refused = true;
    }
    return understood(text);
  }

  function understood(text) {
    try {
      return sound(JSON.parse(text) || {});
    } catch (error) {
      return sound({}); // something else wrote there: start afresh
    }
  }

  /* A part of the later state with what was changed in it here since this page began with `first`. */
  function withChanges(later, first, mine) {
    const unchanged = (name) => JSON.stringify(first[name]) === JSON.stringify(mine[name]);
    const names = Object.keys({ ...later, ...mine });
    const pairs = names.map((name) => [name, unchanged(name) ? later[name] : mine[name]]);
    return Object.fromEntries(pairs.filter((pair) => pair[1] !== undefined));
  }

  /* Take what stands in the second place, where it is later than what this page began with; changes made since stay.
     Comes to whether anything is to be drawn anew. */
  async function look(first) {
    const text = await second.read(key);
    if (text === undefined) return false; // it is left alone
    const later = understood(text);
    const mine = keeping.state;
    looked = true;
    if (later.saved <= first.saved) {
      await writeElsewhere();
      return refused;
    }
    const parts = Object.keys(later).filter((name) => name !== "saved");
    keeping.state = Object.fromEntries(parts.map((name) => [name, withChanges(later[name], first[name], mine[name])]));
    keeping.state.saved = Math.max(later.saved, mine.saved);
    await keeping.save();
    return true;
  }

  function write() {
    try {
      localStorage.setItem(key, JSON.stringify(keeping.state));
    } catch (error) {
      refused = true;
    }
  }

  async function writeElsewhere() {
    elsewhere = (await second.write(key, JSON.stringify(keeping.state))) !== undefined;
  }

  const keeping = {
    state: read(),
    works: () => (store ? store.works : !refused || elsewhere),
    again: async () => {
      if (store) store.text = await store.again();
      const other = read();
      if (other.saved >= keeping.state.saved) keeping.state = other;
    },
    save: async () => {
      keeping.state.saved += 1;
      if (store) return store.save(JSON.stringify(keeping.state));
      write();
      return looked ? writeElsewhere() : null;
    },
    looked: Promise.resolve(false),
  };
  if (second) {
    write(); // tells whether the phone keeps anything
    keeping.looked = look(read());
  }
  return keeping;
}

function moment() {
  return new Date().toISOString().replace(/\.\d+Z$/, "Z");
}

function clock(time) {
  const local = new Date(time);
  return [local.getHours(), local.getMinutes()].map((part) => String(part).padStart(2, "0")).join(":");
}

function all(selector, within) {
  return Array.from((within || document).querySelectorAll(selector));
}

function one(selector, within) {
  return (within || document).querySelector(selector);
}
