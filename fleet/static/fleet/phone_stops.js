// Today's and tomorrow's stops and the sites that were looked at last, kept on this device for when there is no signal; and the
// worker that shows them then.
"use strict";

const Stops = (() => {
  const MOST_SITES = 5;

  // The form of each head repeats that of the one before, so stops are kept packed, in a tenth of the room; a browser that
  // cannot pack keeps them as they are.
  const through = (data, stream) => new Response(new Blob([data]).stream().pipeThrough(stream));
  const packed = async (stops) => (!("CompressionStream" in self) ? { stops }
    : { packed: await through(JSON.stringify(stops), new CompressionStream("gzip")).arrayBuffer() });
  const unpacked = async (item) => ({ ...item, stops: item.stops ?? await through(item.packed, new DecompressionStream("gzip")).json() });

  // Ask for stops that changed since, and keep them under the person whose they are.
  async function ask(key, asked, person) {
    const was = await Store.get("kept", key);
    const same = was?.person === person ? was.digest : "";
    const { status, body } = await Outbox.call(`/phone/stops?${asked}have=${same}`);
    if (status === 404) await Store.delete("kept", key);
    if (status !== 200 || body.person !== person) return;
    const { stops, ...rest } = body;
    const now = body.same ? was : { ...rest, ...await packed(stops) };
    await Store.put("kept", { ...now, key, schema: Outbox.SCHEMA, at: Date.now() });
  }

  const fetchAll = (person) => ask(Outbox.STOPS, "", person);

  // A site that somebody looks at is kept as well, and the few before it.
  async function fetchSite(site, person) {
    await ask(`${Outbox.SITES}${site}`, `site=${site}&`, person);
    const before = (await Store.all("kept", Outbox.SITES)).sort((one, other) => other.at - one.at).slice(MOST_SITES);
    for (const { key } of before) await Store.delete("kept", key);
  }

  // What is kept for a person: the stops, or undefined, and the sites, the latest first.
  async function kept(person) {
    const item = await Store.get("kept", Outbox.STOPS);
    const sites = (await Store.all("kept", Outbox.SITES)).filter((it) => it.person === person).sort((one, other) => other.at - one.at);
    return { stops: item?.person === person ? await unpacked(item) : undefined, sites: await Promise.all(sites.map(unpacked)) };
  }

  return Object.freeze({ fetchAll, fetchSite, kept });
})();

(() => {
  if (!Outbox.able || !("serviceWorker" in navigator)) return;
  const person = Number(document.body.dataset.person);
  // From a page that somebody is logged in on; the page for no signal asks by itself.
  if (person) Stops.fetchAll(person).catch(Outbox.quietly);
  const { site } = document.currentScript.dataset;
  if (person && site) Stops.fetchSite(Number(site), person).catch(Outbox.quietly);

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
