(() => {
  "use strict";
  const LENGTH_BYTES = 4;
  const find = (id) => document.getElementById(id);
  const say = (text) => { find("answer").textContent = text; };
  const bytes = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));

  // The same as is done to the passphrase when the page is locked: NFKC, runs of spaces as one, none at the ends.
  const sound = (text) => text.normalize("NFKC").split(/[ \t]+/).filter(Boolean).join(" ");

  async function decrypted(passphrase, locked) {
    const words = new TextEncoder().encode(sound(passphrase));
    const secret = await crypto.subtle.importKey("raw", words, "PBKDF2", false, ["deriveKey"]);
    const how = { name: "PBKDF2", hash: "SHA-256", salt: bytes(locked.salt), iterations: locked.rounds };
    const key = await crypto.subtle.deriveKey(how, secret, { name: "AES-GCM", length: 256 }, false, ["decrypt"]);
    return crypto.subtle.decrypt({ name: "AES-GCM", iv: bytes(locked.nonce) }, key, bytes(locked.content));
  }

  function unpacked(buffer) {
    const length = new DataView(buffer).getUint32(0);
    const packed = new Blob([buffer.slice(LENGTH_BYTES, LENGTH_BYTES + length)]);
    return new Response(packed.stream().pipeThrough(new DecompressionStream("deflate"))).text();
  }

  async function unlock() {
    say("Unlocking…");
    find("open").disabled = true;
    let inside;
    try {
      inside = await decrypted(find("passphrase").value, JSON.parse(find("locked").textContent));
    } catch (error) {
      say(error.name === "OperationError"
        ? "That is not the passphrase of this file, or the file is damaged. Try again."
        : "The file is damaged. Ask for it again.");
      find("open").disabled = false;
      find("passphrase").focus();
      return;
    }
    const html = await unpacked(inside);
    // The document keeps its address, so what the page stores on this device stays with this file; it keeps this
    // page's policy too, and the inner page adds its own.
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
