// A form that is sent before the page's scripts listen waits for them: else its fields would go into the address, and be lost.
"use strict";
(function () {
  const waiting = [];

  function hold(event) {
    event.preventDefault();
    event.stopImmediatePropagation();
    waiting.push([event.target, event.submitter]);
  }

  document.addEventListener("submit", hold, true);
  document.addEventListener("DOMContentLoaded", function () { // after every deferred script
    window.setTimeout(function () { // and after what they do at this moment
      document.removeEventListener("submit", hold, true);
      for (const [form, button] of waiting) form.requestSubmit(button || undefined);
    });
  });
})();
