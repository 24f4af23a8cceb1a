// Today's and tomorrow's stops, kept on this device for when there is no signal; and the worker that shows them then.
"use strict";

const Stops = (() => {
  // Fetch them if they changed since, and keep them under the person whose they are.
  async function fetchAll(person) {
    const was = await Store.get("kept", Outbox.STOPS);
    const same = was?.person === person ? was.digest : "";
    const { status, body } = await Outbox.call(`/phone/stops?have=${same}`);
    if (status !== 200 || body.person !== person) return;
    if (body.same) await Store.put("kept", { ...was, at: Date.now() });
    else await Store.put("kept", { ...body, key: Outbox.STOPS, schema: Outbox.SCHEMA, at: Date.now() });
  }

  return Object.freeze({ fetchAll });
})();

(() => {
  if (!Outbox.able || !("serviceWorker" in navigator)) return;
  const person = Number(document.body.dataset.person);
  // From a page that somebody is logged in on; the page for no signal asks by itself.
  if (person) Stops.fetchAll(person).catch(Outbox.quietly);

  // A new release is offered, never forced: a form may stand half written. What waits is in the store, which both releases read.
  function offer(worker) {
    const line = document.getElementById("told");
    const button = Object.assign(document.createElement("button"), { type: "button", className: "plain", textContent: "Use it now" });
    button.addEventListener("click", () => worker.postMessage("skip"));
    line.replaceChildren("A new version of this app is ready. What is not sent stays. ", button);
  }
  navigator.serviceWorker.register("/phone-worker.js", { updateViaCache: "none" }).then((registration) => {
    if (registration.waiting && navigator.serviceWorker.controller) offer(registration.waiting);
    registration.addEventListener("updatefound", () => {
      const worker = registration.installing;
      worker.addEventListener("statechange", () => {
        if (worker.state === "installed" && navigator.serviceWorker.controller) offer(worker);
      });
    });
    const had = navigator.serviceWorker.controller;
    navigator.serviceWorker.addEventListener("controllerchange", () => { if (had) location.reload(); });
  }).catch(() => {});
})();
