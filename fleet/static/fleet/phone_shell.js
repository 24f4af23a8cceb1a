// The page for no signal: what waits on this device, and the stops that it keeps, drawn from its own store.
//
// The page itself says nothing of anybody, so it may lie in the browser's cache; whose stops are drawn is asked of the store, and
// of the server whenever that answers. The worker shows it in place of a page that cannot be reached, at that page's address.
"use strict";

(() => {
  const main = document.getElementById("main");
  const parts = Object.fromEntries(["title", "unsent_items", "stops", "write_up", "about"].map((name) => [name, document.getElementById(name)]));
  const WRITE_UP = /^\/sites\/(\d+)\/write-up$/;
  const SITE_OR_UNIT = /^\/(sites|units)\/\d+$/;
  const VISIT = /^\/visits\/(\d+)$/;
  const text = (tag, words, className = "") => Object.assign(document.createElement(tag), { textContent: words, className });
  const say = (words) => { document.getElementById("told").textContent = words; };
  let here = null;  // who the stops on this page are of
  let kept = null;  // the stops that are kept for them
  let sites = [];  // and the sites that they looked at last, each with the one stop that could be written up there

  if (!Outbox.able) {
    parts.about.replaceChildren(text("p", "This address begins with http:// or this browser is too old, so nothing can be kept here for when there is no signal. Ask the office for the address that begins with https://.", "fault"));
    return;
  }

  // ---- what waits

  const STATES = {
    draft: "draft, not recorded yet", waiting: "waiting to be sent", sending: "being sent", refused: "not taken, to look at",
  };

  function act(words, run) {
    const button = Object.assign(document.createElement("button"), { type: "button", className: "second", textContent: words });
    button.addEventListener("click", () => Promise.resolve(run()).catch(Outbox.quietly));
    return button;
  }

  async function download(item) {
    const file = await Outbox.fileOf(item);
    const link = Object.assign(document.createElement("a"), { href: URL.createObjectURL(file), download: file.name });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
    await Outbox.change(item.key, { saved: true });
  }

  function itemDrawn(item) {
    const box = document.createElement("article");
    box.className = "stop";
    box.dataset.state = item.state;
    box.append(text("h3", item.title));
    const size = Outbox.sizeOf(Outbox.bytesOf(item));
    box.append(text("p", `${STATES[item.state][0].toUpperCase()}${STATES[item.state].slice(1)}; written ${Outbox.timeOf(item.changed)}, ${size}.`));
    if (item.photos.length) {
      const arrived = item.photos.filter((photo) => photo.state === "arrived").length;
      box.append(text("p", `${item.address ? "The write-up is on file; " : ""}${arrived} of ${item.photos.length} photos arrived.`));
      const bar = document.createElement("progress");
      Object.assign(bar, { max: item.photos.length, value: arrived });
      bar.setAttribute("aria-label", "Photos that arrived");
      box.append(bar);
    }
    if (item.why) box.append(text("p", item.why, "fault"));
    const acts = text("p", "", "acts");
    const open = text("a", item.state === "refused" ? "Open and correct" : "Open", "button second");
    open.href = item.address ?? `/sites/${item.site}/write-up${item.booking ? `?booking=${item.booking}` : ""}`;
    acts.append(open, act("Save as a file", () => download(item)));
    if (item.state === "refused" && !item.address) acts.append(act("Send it again as it is", async () => {
      await Outbox.change(item.key, { state: "waiting", why: "" });
      await Outbox.flush();
    }));
    if (item.state === "refused" && item.saved) acts.append(act("Remove from this device, it is saved as a file", () => Outbox.putAway(item)));
    box.append(acts);
    return box;
  }

  async function drawWaiting() {
    const all = await Outbox.items();
    const mine = all.filter((item) => item.person === here?.person && item.state !== "sent");
    const others = all.filter((item) => item.person !== here?.person && Outbox.isOpen(item)).length;
    parts.unsent_items.replaceChildren();
    const open = mine.filter(Outbox.isOpen);
    const begun = mine.length - open.length;
    parts.unsent_items.append(text("h2", `${open.length ? `${open.length} not sent` : "Everything was sent"}${begun ? `, ${begun} begun and not recorded` : ""}`));
    if (open.length) {
      const line = text("p", Outbox.trouble().words ? `${Outbox.trouble().words} ` : "It is sent as long as this app is open and there is a signal. ");
      if (Outbox.trouble().code === "login") line.append(Object.assign(text("a", "Log in"), { href: "/login?next=/phone" }));
      parts.unsent_items.append(line, act("Send now", () => Outbox.flush().then(draw)));
    }
    parts.unsent_items.append(...mine.map(itemDrawn));
    if (others) parts.unsent_items.append(text("p", `${others} more ${others === 1 ? "waits" : "wait"} here from another login, and ${others === 1 ? "is" : "are"} sent once that person logs in on this device.`, "note"));
  }

  // ---- the stops

  async function drawStops() {
    parts.stops.replaceChildren();
    if (!here) {
      parts.stops.append(text("p", "Nobody is logged in on this device. Log in once with a signal; then today’s and tomorrow’s stops are kept here."));
      return;
    }
    if (!kept) {
      parts.stops.append(text("p", "No stops are kept on this device yet. They come with the next signal."));
      drawSites();
      return;
    }
    parts.stops.append(text("p", `Stops of ${kept.name}, as they stood ${Outbox.timeOf(kept.at)}. ${kept.sentence}`, "note"));
    let day = "";
    for (const stop of kept.stops) {
      if (stop.when !== day) parts.stops.append(text("h2", stop.when));
      day = stop.when;
      // What our own server drew, with everything in it escaped; the policy of this page lets no script in it run.
      parts.stops.insertAdjacentHTML("beforeend", stop.card);
    }
    drawSites();
    if (kept.stops.length) drawUnbooked();
  }

  // The sites that were looked at last, but for those of the stops above.
  function drawSites() {
    const others = sites.filter((it) => !kept?.stops.some((stop) => stop.site === it.stops[0].site));
    if (!others.length) return;
    parts.stops.append(text("h2", "Sites opened before"));
    for (const { at, stops: [stop] } of others) drawCard(stop, at);
  }

  function drawCard(stop, at) {
    parts.stops.insertAdjacentHTML("beforeend", stop.card);
    parts.stops.lastElementChild.append(text("p", `As it stood ${Outbox.timeOf(at)}.`, "note"));
  }

  // In place of the page of a site or of a unit: what is kept of that site.
  function drawSite({ stop, at }) {
    say("The server cannot be reached. This is what this device keeps of the site.");
    parts.stops.replaceChildren();
    drawCard(stop, at);
    const line = text("p", "", "acts");
    line.append(Object.assign(text("a", "All that this device keeps"), { href: "/phone" }));
    parts.stops.append(line);
  }

  // Other work at a site that is kept: the same form, without the visit.
  function drawUnbooked() {
    const list = text("ul", "", "plainlist");
    for (const [site, title] of new Map(kept.stops.map((stop) => [stop.site, stop.title]))) {
      const line = document.createElement("li");
      line.append(Object.assign(text("a", `Write up a stop at ${title}`), { href: `/sites/${site}/write-up` }));
      list.append(line);
    }
    parts.stops.append(text("h2", "Stops that were not booked"),
      text("p", "Without a signal, only the sites above can be opened and written up. Any other site needs a signal."), list);
  }

  async function drawWriteUp({ stop, booking }) {
    const isBooked = booking !== "";
    parts.write_up.innerHTML = stop.form;
    for (const name of ["title", "unsent_items", "stops", "about"]) parts[name].hidden = true;
    parts.write_up.hidden = false;
    const form = parts.write_up.querySelector("form.write_up");
    // The form was drawn when there was a signal: its day is the stop's, or today where that has not come yet.
    const today = new Date(Date.now() - (here.ahead ?? 0) * 1000).toLocaleDateString("en-CA", { timeZone: (kept ?? sites[0]).zone });
    form.elements.day.value = isBooked && stop.on < today ? stop.on : today;
    if (!isBooked) {
      form.elements.booking.value = "";
      parts.write_up.querySelector("[data-booked]")?.replaceChildren("This stop was not booked.");
    } else if (String(stop.booking) !== booking) {
      form.elements.booking.value = booking;
      say("This device does not keep what is booked for this visit. What you record here goes to the visit all the same.");
    }
    form.elements.key.value = crypto.randomUUID();
    WriteUp.ready = WriteUp.bind(form, { person: here.person, site: stop.site, title: stop.title });
    await WriteUp.ready;
    scrollTo(0, 0);
    document.title = `Write up ${stop.title} · Tenth Year`;
  }

  // All that is kept, each with the moment as of which it is.
  const all = () => [...(kept ? [kept] : []), ...sites].flatMap(({ at, stops }) => stops.map((stop) => ({ stop, at })));

  // The stop that an address of a write-up means: a booked one by its visit, any other by its site, as is one whose visit was
  // booked since this device last heard of that site.
  function wanted({ pathname, search }) {
    const site = WRITE_UP.exec(pathname)?.[1];
    if (!site) return null;
    const booking = new URLSearchParams(search).get("booking") ?? "";
    const there = all().filter(({ stop }) => String(stop.site) === site);
    const of = there.find(({ stop }) => booking && String(stop.booking) === booking)
      ?? there.find(({ stop }) => !stop.booking) ?? there[0];
    return { booking, stop: of?.stop };
  }

  // What is kept of the page of a visit, a site or a unit: the stop of that visit, or the one whose card leads there.
  function keptOf({ pathname }) {
    const visit = VISIT.exec(pathname)?.[1];
    if (visit) return all().find(({ stop }) => String(stop.booking) === visit);
    return SITE_OR_UNIT.test(pathname) ? all().find(({ stop }) => stop.card.includes(`href="${pathname}"`)) : undefined;
  }

  const KEPT = "This device keeps today’s and tomorrow’s stops, past visits that nobody wrote up, and the five sites that were opened last, with their visits: all of that is below.";
  const OTHERWISE = "For anything else, come back here once there is a signal.";

  async function draw() {
    here = await Outbox.known();
    ({ stops: kept, sites } = here ? await Stops.kept(here.person) : { sites: [] });
    const form = wanted(location);
    if (form?.stop && here) {
      if (parts.write_up.hidden) await drawWriteUp(form);
      return;
    }
    for (const name of ["title", "unsent_items", "stops", "about"]) parts[name].hidden = false;
    parts.write_up.hidden = true;
    const site = keptOf(location);
    if (form) say(`This write-up cannot be opened without a signal, since its site is not among those kept on this device. ${KEPT} ${OTHERWISE}`);
    else if (!site && VISIT.test(location.pathname)) say(`This visit cannot be opened without a signal, since it is not among those kept on this device. ${KEPT} ${OTHERWISE}`);
    else if (!site && !["/phone", "/todays-stops"].includes(location.pathname)) say(`The server cannot be reached, and this page needs it. ${KEPT} ${OTHERWISE}`);
    await drawWaiting();
    if (site) drawSite(site);
    else await drawStops();
  }

  // A stop that is kept here opens at once, whatever the signal.
  main.addEventListener("click", (event) => {
    const link = event.target.closest("a[href]");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
    const to = new URL(link.href);
    const own = to.pathname === "/phone" || wanted(to)?.stop !== undefined;
    if (to.origin !== location.origin || !own || link.hasAttribute("download")) return;
    event.preventDefault();
    history.pushState(null, "", to);
    parts.write_up.hidden = true;
    draw().catch(Outbox.quietly);
  });
  addEventListener("popstate", () => location.reload());

  // ---- from the server, when it answers

  async function refresh() {
    const who = await Outbox.login();
    if (!who) return;
    here = await Outbox.known();
    await Stops.fetchAll(who.person);
    if (parts.write_up.hidden) await draw();
  }

  document.getElementById("remove_app").addEventListener("click", async () => {
    for (const one of await navigator.serviceWorker.getRegistrations()) await one.unregister();
    for (const name of await caches.keys()) await caches.delete(name);
    say("The app’s copy was removed from this device. What is not sent is still here, and a page with a signal brings the app back.");
  });

  Outbox.hear(() => { if (parts.write_up.hidden) drawWaiting().catch(Outbox.quietly); });
  draw().then(refresh).catch(Outbox.quietly);
  addEventListener("online", () => refresh().catch(Outbox.quietly));
})();
