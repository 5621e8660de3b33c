/* In a worker made from this page's own text, so that the page stays alive under the thumb; where there is none, here. */
function startSearch() {
  let worker = null;
  let waiting = null;

  function here(question, found, failed) {
    setTimeout(() => {
      try {
        found(fieldAnswer().search(question));
      } catch (error) {
        if (!(error instanceof RangeError)) throw error; // no memory for the table
        failed();
      }
    }, 0);
  }

  try {
    const text = `${[fieldLoad, fieldDays, fieldReach, fieldFrame, fieldSearch, fieldBeam, fieldAnswer].map((each) => each.toString()).join("\n")}; const { search } = fieldAnswer(); onmessage = (event) => postMessage({ number: event.data.number, answer: search(event.data.question) });`;
    worker = new Worker(URL.createObjectURL(new Blob([text], { type: "text/javascript" })));
    worker.onmessage = (event) => {
      if (!waiting || event.data.number !== waiting.number) return;
      const { found } = waiting;
      waiting = null;
      found(event.data.answer);
    };
    worker.onerror = () => {
      const left = waiting;
      [worker, waiting] = [null, null];
      if (left) here(left.question, left.found, left.failed);
    };
  } catch (error) {
    worker = null; // this browser gives no worker to a page opened from a file
  }

  let number = 0;
  return (question, found, failed) => {
    number += 1;
    if (!worker) return here(question, found, failed);
    waiting = { number, question, found, failed };
    return worker.postMessage({ number, question });
  };
}
