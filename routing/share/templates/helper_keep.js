"use strict";

/* Keeps ticks and notes on this phone, under the name of this exact round; in a page that was locked, in the encrypted
   store that unlocking made. Where the phone refuses, they live until the page is closed, and `works` says so. */
function startKeeping(key) {
  const PART = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ [1-9]\d{0,3}$/;
  const TIME = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ$/;
  const store = window.lockedStore;
  let refused = false;

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

  const keeping = {
    state: read(),
    works: () => !refused && (!store || store.works),
    again: async () => {
      if (store) store.text = await store.again();
      keeping.state = read();
    },
    save: () => {
      if (store) return store.save(JSON.stringify(keeping.state));
      try {
        localStorage.setItem(key, JSON.stringify(keeping.state));
      } catch (error) {
        refused = true;
      }
      return Promise.resolve();
    },
  };
  keeping.save();
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
