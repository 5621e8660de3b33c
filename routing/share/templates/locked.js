(() => {
  "use strict";
  const LENGTH_BYTES = 4;
  const NONCE_BYTES = 12;
  const SMALLEST_KEPT = 4096;
  const LONGEST = 3000; // milliseconds that unlocking waits for the second place
  const find = (id) => document.getElementById(id);
  const say = (text) => { find("answer").textContent = text; };
  const bytes = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));

  // The same as is done to the passphrase when the page is locked: NFKC, runs of spaces as one, none at the ends.
  const sound = (text) => text.normalize("NFKC").split(/[ \t]+/).filter(Boolean).join(" ");

  const coded = (text) => new TextEncoder().encode(text);

  function secretOf(passphrase) {
    return crypto.subtle.importKey("raw", coded(sound(passphrase)), "PBKDF2", false, ["deriveKey", "deriveBits"]);
  }

  async function decrypted(secret, locked) {
    const how = { name: "PBKDF2", hash: "SHA-256", salt: bytes(locked.salt), iterations: locked.rounds };
    const key = await crypto.subtle.deriveKey(how, secret, { name: "AES-GCM", length: 256 }, false, ["decrypt"]);
    return crypto.subtle.decrypt({ name: "AES-GCM", iv: bytes(locked.nonce) }, key, bytes(locked.content));
  }

  /* What the page inside keeps on this device: encrypted under a key from passphrase and round, so that the page finds
     it again when it is sent anew, and nobody else can read it or tell which round it is of. Pages opened from disk may
     share one storage. */
  async function storeOf(secret, round, rounds) {
    const salt = await crypto.subtle.digest("SHA-256", coded(`kept for round ${round}`));
    const how = { name: "PBKDF2", hash: "SHA-256", salt, iterations: rounds };
    const parent = await crypto.subtle.importKey(
      "raw", await crypto.subtle.deriveBits(how, secret, 256), "HKDF", false, ["deriveKey", "deriveBits"]);
    const part = (use) => ({ name: "HKDF", hash: "SHA-256", salt: new Uint8Array(), info: coded(use) });
    const key = await crypto.subtle.deriveKey(
      part("content"), parent, { name: "AES-GCM", length: 256 }, false, ["encrypt", "decrypt"]);
    const name = Array.from(new Uint8Array(await crypto.subtle.deriveBits(part("name"), parent, 128)),
      (byte) => byte.toString(16).padStart(2, "0")).join("");
    const sealed = (iv) => ({ name: "AES-GCM", iv, additionalData: coded(name) });

    const second = secondStore();
    let reached = false;

    /* What the second place has; where it does not answer soon this page goes on without it, and leaves it alone. */
    async function elsewhere() {
      const late = new Promise((resolve) => { setTimeout(resolve, LONGEST, undefined); });
      const held = await Promise.race([second.read(name), late]);
      reached = held !== undefined;
      return held;
    }

    async function opened(held) {
      try {
        const kept = bytes(held);
        return new TextDecoder().decode(
          await crypto.subtle.decrypt(sealed(kept.slice(0, NONCE_BYTES)), key, kept.slice(NONCE_BYTES)));
      } catch (error) {
        return null; // nothing, or something else wrote there: start afresh
      }
    }

    function saved(text) {
      try {
        return JSON.parse(text).saved || 0;
      } catch (error) {
        return 0;
      }
    }

    function first() {
      try {
        return localStorage.getItem(name);
      } catch (error) {
        return null; // the phone refuses
      }
    }

    /* What was kept: of the two places that which was saved more often. */
    async function read() {
      const texts = await Promise.all([first(), await elsewhere()].map(opened));
      return texts[0] === null || saved(texts[1]) > saved(texts[0]) ? texts[1] : texts[0];
    }

    /* A fresh nonce for each write, and a length that is one of few, so that it does not tell how much was written. */
    async function write(text) {
      const inside = coded(text);
      let size = SMALLEST_KEPT;
      while (size < inside.length) size *= 2;
      const filled = new Uint8Array(size).fill(" ".charCodeAt(0));
      filled.set(inside);
      const nonce = crypto.getRandomValues(new Uint8Array(NONCE_BYTES));
      const content = new Uint8Array(await crypto.subtle.encrypt(sealed(nonce), key, filled));
      let held = "";
      for (const part of [nonce, content]) for (const byte of part) held += String.fromCharCode(byte);
      const taken = reached ? second.write(name, btoa(held)) : undefined;
      try {
        localStorage.setItem(name, btoa(held));
      } catch (error) {
        if ((await taken) === undefined) throw error;
      }
    }

    let last = Promise.resolve();
    const store = {
      text: null,
      works: true,
      save: (text) => {
        last = last.then(() => write(text)).catch(() => { store.works = false; });
        return last;
      },
      again: async () => {
        for (;;) {
          const saved = last;
          await saved;
          const text = await read();
          if (saved === last) return text; // else something was ticked here meanwhile
        }
      },
    };
    try {
      store.text = await read();
      await write(store.text || "{}");
    } catch (error) {
      store.works = false;
    }
    return store;
  }

  /* The key of the round that the page inside is of; none where it keeps nothing. */
  function roundOf(html) {
    const given = new DOMParser().parseFromString(html, "text/html").getElementById("given");
    return given ? JSON.parse(given.textContent).round : null;
  }

  function unpacked(buffer) {
    const length = new DataView(buffer).getUint32(0);
    const packed = new Blob([buffer.slice(LENGTH_BYTES, LENGTH_BYTES + length)]);
    return new Response(packed.stream().pipeThrough(new DecompressionStream("deflate"))).text();
  }

  async function unlock() {
    say("Unlocking…");
    find("open").disabled = true;
    const locked = JSON.parse(find("locked").textContent);
    let secret;
    let inside;
    try {
      secret = await secretOf(find("passphrase").value);
      inside = await decrypted(secret, locked);
    } catch (error) {
      say(error.name === "OperationError"
        ? "That is not the passphrase of this file, or the file is damaged. Try again."
        : "The file is damaged. Ask for it again.");
      find("open").disabled = false;
      find("passphrase").focus();
      return;
    }
    const html = await unpacked(inside);
    const round = roundOf(html);
    if (round) window.lockedStore = await storeOf(secret, round, locked.rounds);
    // The document keeps its address and its window, and with them this page's policy, to which the inner page adds its
    // own, and the store.
    document.open();
    document.write(html);
    document.close();
  }

  if (!window.crypto || !crypto.subtle || typeof DecompressionStream === "undefined") {
    find("open").disabled = true;
    say("This browser cannot unlock a page. Open the file with an up-to-date web browser.");
    return;
  }
  find("unlock").addEventListener("submit", (event) => { event.preventDefault(); unlock(); });
  find("show").addEventListener("change", (event) => { find("passphrase").type = event.target.checked ? "text" : "password"; });
  find("passphrase").focus();
})();
