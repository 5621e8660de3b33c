/* Keeps ticks and notes on this phone in two places, under the name of this exact round; in a page that was locked, in
   the encrypted store that unlocking made, which has two places itself. What was saved more often is the later. Where
   the phone refuses, they live until the page is closed, and `works` says so. */
function startKeeping(key) {
  const PART = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ [1-9]\d{0,3}$/;
  const TIME = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ$/;
  const store = window.lockedStore;
  const second = store ? null : secondStore();
  let refused = false;
  let looked = !second;

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

  /* A map of the later state with what was changed here since this page began with `first`. */
  function withChanges(later, first, mine) {
    const changed = Object.keys({ ...first, ...mine }).filter((name) => first[name] !== mine[name]);
    const kept = Object.entries({ ...later, ...mine }).filter(([name]) => (changed.includes(name) ? name in mine : name in later));
    return Object.fromEntries(kept.map(([name, text]) => [name, changed.includes(name) ? text : later[name]]));
  }

  /* Take what stands in the second place, where it is later than what this page began with; changes made since stay. */
  async function look(first) {
    const text = await second.read(key);
    const later = understood(text);
    const mine = keeping.state;
    looked = true;
    if (later.saved <= first.saved) {
      if (mine.saved || text !== null) second.write(key, JSON.stringify(mine));
      return false;
    }
    const field = mine.saved > first.saved ? mine.field : later.field;
    const maps = Object.keys(later).filter((name) => !["field", "saved"].includes(name));
    keeping.state = { ...Object.fromEntries(maps.map((name) => [name, withChanges(later[name], first[name], mine[name])])), field, saved: Math.max(mine.saved, later.saved) };
    keeping.save();
    return true;
  }

  function write() {
    try {
      localStorage.setItem(key, JSON.stringify(keeping.state));
    } catch (error) {
      refused = true;
    }
  }

  const keeping = {
    state: read(),
    works: () => !refused && (!store || store.works),
    again: async () => {
      if (store) store.text = await store.again();
      keeping.state = read();
    },
    save: async () => {
      keeping.state.saved += 1;
      if (store) return store.save(JSON.stringify(keeping.state));
      write();
      return looked ? second.write(key, JSON.stringify(keeping.state)) : null;
    },
    looked: null,
  };
  if (second) {
    write(); // tells whether the phone keeps anything
    keeping.looked = look(read());
  } else keeping.looked = Promise.resolve(false);
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
