// What is pressed before the page's scripts listen waits for them: a form's fields would go into the address and be lost,
// a button would do nothing.
"use strict";
(function () {
  const waiting = new Map(); // each once, however often it is pressed

  function held(event, element, later) {
    event.preventDefault();
    event.stopImmediatePropagation();
    waiting.set(element, later);
  }

  function sent(event) {
    const form = event.target, button = event.submitter;
    held(event, form, () => form.requestSubmit(button || undefined));
  }

  function pressed(event) {
    const button = event.target.closest("button");
    const sends = button && button.form && button.type === "submit"; // that is held where its form is sent
    if (button && !sends) held(event, button, () => button.click());
  }

  document.addEventListener("submit", sent, true);
  document.addEventListener("click", pressed, true);
  document.addEventListener("DOMContentLoaded", function () { // after every deferred script
    window.setTimeout(function () { // and after what they do at this moment
      document.removeEventListener("submit", sent, true);
      document.removeEventListener("click", pressed, true);
      for (const later of waiting.values()) later();
    });
  });
})();
