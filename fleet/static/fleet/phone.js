// What was written up on this device goes from here to the server: each write-up once, then its photos one by one.
//
// An item of the outbox is one write-up with a key of its own, made when somebody first touched the form. It is a draft, then
// waiting, sending, and sent or refused; whatever happens to this page, it stands in the store until the server has said in
// JSON that it is on file. One tab sends at a time (a lock), and always asks first who is logged in and for a fresh token, since
// a login in between changes both. Nothing is sent under another login than its writer's. Sent again, the server knows the key.
"use strict";

const Outbox = (() => {
  const SCHEMA = 1;
  const PREFIX = "write-up|";
  const WHO = "phone|person";
  const STOPS = "phone|kept|stops";
  const SITES = "phone|kept|site|";
  const KEPT = "phone|kept|";  // begins the key of all that is one person's to see
  const REMEMBERED = 3 * 86_400_000;  // how long it is known that something was sent, for whoever goes back to its page
  const EVERY = 60_000;
  // A page of plain http has no locks, no worker and no digests: there a form is saved with a signal, or not at all.
  const able = isSecureContext && "locks" in navigator && !!crypto.subtle;
  const news = able ? new BroadcastChannel("outbox") : null;
  const hearers = [];
  let trouble = { code: "", words: "" };

  const photoKey = (id, digest) => `${PREFIX}${id}|${digest}`;
  const isOpen = (item) => ["waiting", "sending", "refused"].includes(item.state);

  const items = async () => (await Store.all("outbox", PREFIX)).sort((one, other) => one.begun - other.begun);

  async function change(key, facts) {
    const now = await Store.change("outbox", key, (was) => (was ? { ...was, ...facts } : undefined));
    tell();
    return now;
  }

  function tell() {
    news?.postMessage("changed");
    for (const hear of hearers) hear();
  }
  if (news) news.onmessage = () => { for (const hear of hearers) hear(); };

  // ---- who is here

  const known = () => Store.get("kept", WHO);

  // Whoever it is now; what was kept for another is removed, but never what they have not sent.
  async function remember(person, name, ahead) {
    const was = await known();
    if (was && was.person !== person) await clear();
    const before = was?.person === person ? was : {};
    await Store.put("kept", { key: WHO, schema: SCHEMA, person, name: name || before.name || "", ahead: ahead ?? was?.ahead ?? 0 });
  }

  async function clear() {
    for (const key of await Store.keys("kept", KEPT)) await Store.delete("kept", key);
  }

  // What is private goes at the logout; what is not sent stays.
  async function forget() {
    await clear();
    await Store.delete("kept", WHO);
  }

  // ---- asking the server

  async function call(address, options = {}, patience = 60_000) {
    const stop = new AbortController();
    const timer = setTimeout(() => stop.abort(), patience);
    try {
      const headers = { Accept: "application/json", ...options.headers };
      // A redirect is a page of a login, or of a hotel's network: never the answer.
      const response = await fetch(address, { cache: "no-store", redirect: "manual", signal: stop.signal, ...options, headers });
      return { status: response.status, body: await response.json() };
    } catch {
      return { status: 0, body: null };
    } finally {
      clearTimeout(timer);
    }
  }

  async function login() {
    const before = Date.now();
    const { status, body } = await call("/phone/token", {}, 20_000);
    if (status === 200 && body.token) {
      const ahead = Math.round(((before + Date.now()) / 2 - Date.parse(body.now)) / 1000);
      trouble = { code: "", words: "" };
      await remember(body.person, body.name, ahead);
      return { token: body.token, person: body.person, ahead };
    }
    trouble = status === 401 ? { code: "login", words: "Log in to send what is waiting." }
      : status === 0 ? { code: "signal", words: "The server cannot be reached; it is sent once it can." }
      : { code: "server", words: body?.faults?.[""] || "The server could not do that just now; it is tried again." };
    return null;
  }

  async function post(who, address, body, type, patience) {
    const once = () => call(address, { method: "POST", body, headers: { "Content-Type": type, "X-CSRFToken": who.token } }, patience);
    const answer = await once();
    if (answer.status !== 403 || answer.body?.code !== "token") return answer;
    const fresh = await login();
    if (fresh?.person !== who.person) return { status: 401, body: null };
    who.token = fresh.token;
    return once();
  }

  // ---- sending

  // What did not go through: whether it waits for better times, or somebody has to look at it. The answer: whether to go on.
  async function failed(item, { status, body }) {
    const faults = body?.faults ?? null;
    const ours = body?.code === "writer" || body?.code === "token";
    if ([400, 403, 404, 409, 413, 422].includes(status) && faults && !ours) {
      await change(item.key, { state: "refused", faults, why: faults[""] || "Something in it has to be corrected." });
      return true;
    }
    if (status === 401) trouble = { code: "login", words: "Log in to send what is waiting." };
    await change(item.key, { state: "waiting", why: faults?.[""] ?? "" });
    return body?.code === "writer";
  }

  async function sendWords(item, who) {
    const photos = item.photos.filter((photo) => photo.state !== "refused");
    const said = {
      fields: item.fields,
      writer: item.person,
      captured_at: item.captured_at,
      clock_ahead: who.ahead,
      photos: photos.map(({ digest, name, of }) => ({ digest, name, ...of })),
    };
    const answer = await post(who, `/sites/${item.site}/write-up`, JSON.stringify(said), "application/json");
    const { status, body } = answer;
    // Only an answer that names the write-up says that it is on file.
    if (!(status === 200 || status === 201) || !Number.isInteger(body?.write_up)) return [null, answer];
    return [await change(item.key, { address: body.address, told: body.told, why: "", faults: {} }), answer];
  }

  async function photoIs(item, digest, facts) {
    const photos = (await Store.get("outbox", item.key)).photos.map((it) => (it.digest === digest ? { ...it, ...facts } : it));
    await change(item.key, { photos });
    if (facts.state === "arrived") await Store.delete("photos", photoKey(item.id, digest));
  }

  async function sendPhotos(item, who) {
    const waiting = item.photos.filter((photo) => photo.state === "waiting");
    if (!waiting.length) return null;
    const list = await call(`/phone/write-ups/${item.id}/photos`);
    if (list.status !== 200) return list;
    for (const { digest } of waiting) {
      if (!list.body.arrived.includes(digest)) {
        const kept = await Store.get("photos", photoKey(item.id, digest));
        if (!kept) {
          await photoIs(item, digest, { state: "refused", why: "It is no longer on this device." });
          continue;
        }
        const answer = await post(who, `/phone/write-ups/${item.id}/photos/${digest}`, kept.bytes, "image/jpeg", 180_000);
        if ([413, 422].includes(answer.status) && answer.body?.faults) {
          await photoIs(item, digest, { state: "refused", why: answer.body.faults[""] });
          continue;
        }
        // One that did not arrive whole (409) is sent again, as after a break.
        if (answer.status !== 200 && answer.status !== 201) return answer.status === 409 ? { status: 0, body: answer.body } : answer;
      }
      await photoIs(item, digest, { state: "arrived" });
    }
    return null;
  }

  async function send(before, who) {
    let item = await change(before.key, { state: "sending", tries: (before.tries ?? 0) + 1, why: "" });
    if (!item.address) {
      const [recorded, answer] = await sendWords(item, who);
      if (!recorded) return failed(item, answer);
      item = recorded;
    }
    const stopped = await sendPhotos(item, who);
    if (stopped) return failed(item, stopped);
    const now = await Store.get("outbox", item.key);
    const refused = now.photos.filter((photo) => photo.state === "refused");
    const why = refused.map((photo) => `${photo.name} was not taken: ${photo.why}`).join(" ");
    // What was sent is no longer kept here, only that it was.
    await change(item.key, refused.length ? { state: "refused", why, faults: { "": why } } : { state: "sent", fields: {}, at: Date.now() });
    return true;
  }

  async function run() {
    const all = await items();
    for (const item of all) {
      if (item.state === "sent" && item.at < Date.now() - REMEMBERED) await Store.delete("outbox", item.key);
    }
    const isDue = (item) => item && (item.state === "waiting" || item.state === "sending");
    if (!all.some(isDue)) return;
    const who = await login();
    if (!who) {
      for (const item of all) if (item.state === "sending") await change(item.key, { state: "waiting" });
      tell();
      return;
    }
    for (const { key } of all.filter(isDue)) {
      const item = await Store.get("outbox", key);  // as it stands by now
      if (!isDue(item) || item.person !== who.person || item.schema > SCHEMA) continue;
      if (!(await send(item, who))) break;
    }
    tell();
  }

  let running = null;
  let again = false;

  // Send whatever waits; the answer comes when nothing more can be sent now.
  function flush() {
    if (!able) return Promise.resolve();
    if (running) {
      again = true;
      return running;
    }
    running = navigator.locks.request("outbox", run).catch(quietly).finally(() => {
      running = null;
      if (!again) return undefined;
      again = false;
      return flush();
    });
    return running;
  }

  const quietly = (fault) => { if (!(fault instanceof Store.Fault)) throw fault; };

  // ---- for people

  const bytesOf = (item) => JSON.stringify(item.fields).length
    + item.photos.filter((photo) => photo.state === "waiting").reduce((sum, photo) => sum + photo.size, 0);
  const sizeOf = (bytes) => bytes < 100_000 ? `${Math.max(1, Math.round(bytes / 1000))} KB` : `${(bytes / 1_000_000).toFixed(1)} MB`;
  const timeOf = (at) => new Date(at).toLocaleString("en-US", { month: "long", day: "numeric", hour: "numeric", minute: "2-digit" });

  // All of an item as one file, photos and all, for the office to read.
  async function fileOf(item) {
    const photos = [];
    for (const photo of item.photos) {
      const kept = await Store.get("photos", photoKey(item.id, photo.digest));
      const reader = new FileReader();
      const read = kept && new Promise((resolve) => { reader.onload = () => resolve(reader.result); });
      if (kept) reader.readAsDataURL(Store.fileOf(kept));
      photos.push({ name: photo.name, state: photo.state, of: photo.of, file: kept ? await read : null });
    }
    const { title, state, why, faults, captured_at, fields } = item;
    const written = Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== ""));
    const text = JSON.stringify({ title, state, why, faults, captured_at, fields: written, photos }, null, 2);
    return new File([text], `write-up-${item.id.slice(0, 8)}.json`, { type: "application/json" });
  }

  // What was refused and saved as a file is put away by whoever wrote it, and by nobody else.
  async function putAway(item) {
    for (const { digest } of item.photos) await Store.delete("photos", photoKey(item.id, digest));
    await Store.delete("outbox", item.key);
    tell();
  }

  return Object.freeze({
    putAway, SCHEMA, PREFIX, STOPS, SITES, able, items, change, photoKey, isOpen, known, remember, forget, call, login, flush, quietly,
    bytesOf, sizeOf, timeOf, fileOf, trouble: () => trouble, hear: (hearer) => hearers.push(hearer), EVERY,
  });
})();

// On every page: what is not sent yet stands in sight, and is sent whenever it can be.
(() => {
  if (!Outbox.able) {
    for (const note of document.querySelectorAll("[data-insecure]")) note.hidden = false;
    return;
  }
  const SOON = 2500;
  const person = Number(document.body.dataset.person) || null;
  const bar = document.createElement("p");
  bar.className = "unsent";
  bar.setAttribute("role", "status");
  bar.hidden = true;
  document.getElementById("told")?.after(bar);

  const mineOf = async () => {
    const whose = person ?? (await Outbox.known())?.person;
    return (await Outbox.items()).filter((item) => item.person === whose);
  };

  // Of what was begun, all but what stands open on this page.
  function begunOf(mine) {
    const form = document.querySelector("form.write_up");
    const here = form && !form.closest("[hidden]") ? form.elements.key?.value : "";
    return mine.filter((item) => item.state === "draft" && item.id !== here);
  }

  function wordsOf(open, begun) {
    const words = [];
    if (open.length) {
      const size = Outbox.sizeOf(open.reduce((sum, item) => sum + Outbox.bytesOf(item), 0));
      words.push(`${open.length} not sent (${size}), the oldest from ${Outbox.timeOf(open[0].begun)}.`);
      const refused = open.filter((item) => item.state === "refused").length;
      if (refused) words.push(`${refused} to look at.`);
      if (Outbox.trouble().words) words.push(Outbox.trouble().words);
    }
    if (begun.length) {
      const since = Outbox.timeOf(begun[0].begun);
      words.push(`${begun.length} begun and not recorded, ${begun.length > 1 ? "the oldest " : ""}from ${since}.`);
    }
    return `${words.join(" ")} `;
  }

  async function show() {
    const mine = await mineOf();
    const open = mine.filter(Outbox.isOpen);
    const begun = begunOf(mine);
    bar.hidden = !open.length && !begun.length;
    if (bar.hidden) return;
    const words = wordsOf(open, begun);
    if (bar.dataset.words === words) return;
    bar.dataset.words = words;
    const link = document.createElement("a");
    link.href = "/phone";
    link.textContent = open.length ? "See what is not sent" : "See what was begun";
    bar.replaceChildren(words, link);
  }

  const shown = () => show().catch(Outbox.quietly);

  // On a poor line the next try comes soon, then ever later.
  let wait = SOON;
  let timer = null;
  async function now() {
    clearTimeout(timer);
    await Outbox.flush();
    await shown();
    const waits = (await Outbox.items().catch(() => [])).some((item) => item.state === "waiting");
    wait = waits ? Math.min(wait * 2, Outbox.EVERY) : SOON;
    timer = setTimeout(now, waits && navigator.onLine ? wait : Outbox.EVERY);
  }
  Outbox.hear(shown);
  addEventListener("online", () => { wait = SOON; now(); });
  document.addEventListener("visibilitychange", () => { if (!document.hidden) now(); });

  // Whoever logs out with something unsent is told first what becomes of it.
  const logout = document.querySelector('form[action$="/logout"]');
  const leaving = Object.assign(document.createElement("section"), { className: "leaving", tabIndex: -1 });
  leaving.setAttribute("aria-label", "Before you log out");

  function button(words, className, act) {
    const made = Object.assign(document.createElement("button"), { type: "button", className, textContent: words });
    made.addEventListener("click", act);
    return made;
  }

  async function leave() {
    await Outbox.forget().catch(Outbox.quietly);
    logout.submit();
  }

  function stayWords(mine) {
    const open = mine.filter(Outbox.isOpen).length;
    const begun = mine.filter((item) => item.state === "draft").length;
    const one = (count) => (count === 1 ? ["write-up is", "It stays", "goes", "opens"] : ["write-ups are", "They stay", "go", "open"]);
    const lines = [];
    if (open) {
      const [are, stay, go] = one(open);
      lines.push(`${open} ${are} not sent yet. ${stay} on this device and ${go} when you log in here again.`);
    }
    if (begun) {
      const [are, stay, , opens] = one(begun);
      lines.push(`${begun} ${are} begun and not recorded. ${stay} on this device and ${opens} again when you log in here.`);
    }
    return lines;
  }

  logout?.addEventListener("submit", async (event) => {
    event.preventDefault();
    const mine = await mineOf().catch((fault) => { Outbox.quietly(fault); return []; });
    const lines = stayWords(mine);
    if (!lines.length) {
      await leave();
      return;
    }
    const acts = Object.assign(document.createElement("p"), { className: "acts" });
    acts.append(button("Log out and keep it here", "", leave), button("Stay logged in", "second", () => {
      leaving.remove();
      logout.querySelector("button").focus();
    }));
    const said = lines.map((words) => Object.assign(document.createElement("p"), { textContent: words }));
    leaving.replaceChildren(...said, acts);
    document.getElementById("main").append(leaving);
    leaving.scrollIntoView({ block: "center" });
    leaving.focus({ preventScroll: true });
  });

  (async () => {
    if (person) await Outbox.remember(person, "").catch(Outbox.quietly);
    await shown();
    await now();
  })();
})();
