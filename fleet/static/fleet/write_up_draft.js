// A write-up is a draft in this device's own store from the first touch: whatever happens to the page, it opens again as it was.
//
// The key belongs to the draft, never to the page: one that was sent is known here, so a page gone back to begins nothing twice.
// A field is kept by its name. What a page no longer has a field for (a head that left meanwhile) is kept and sent all the same.
"use strict";

const WriteUp = (() => {
  const SAVE_AFTER = 300;
  const WAITS_FOR_PHOTOS = 8000;
  const LONGEST = 30 * 86_400_000;

  const fieldsOf = (form) => [...form.elements].filter((it) => it.name && it.matches("input, select, textarea")
    && it.type !== "file" && it.name !== "csrfmiddlewaretoken");

  function contentOf(form) {
    const content = {};
    for (const it of fieldsOf(form)) {
      if (it.type === "checkbox" || it.type === "radio") {
        if (it.checked) content[it.name] = it.value;
      } else if (it.name === "asked") {
        (content.asked ??= []).push(it.value);
      } else {
        content[it.name] = it.value;
      }
    }
    return content;
  }

  function put(field, value) {
    if (field.options && ![...field.options].some((option) => option.value === value)) field.add(new Option(`${value} (no longer listed)`, value));
    field.value = value;
  }

  // Rows are made first, as many as were written; then each field has what it had.
  function fill(form, content) {
    for (const part of ["failed", "weighed"]) {
      const button = form.querySelector(`button[name="more"][value="${part}"]`);
      const rows = () => Number(form.elements[`${part}-rows`]?.value ?? 0);
      for (let count = rows(); button && count < Number(content[`${part}-rows`] ?? 0); count += 1) button.click();
    }
    if (content.sure) askSure(form);
    const here = new Set();
    for (const it of fieldsOf(form)) {
      here.add(it.name);
      if (it.name === "asked" || it.name === "key" || it.name.endsWith("-rows")) continue;
      if (it.type === "checkbox") it.checked = it.name in content;
      else if (it.type === "radio") it.checked = it.value === (content[it.name] ?? "");
      else if (it.name in content) put(it, content[it.name]);
    }
    // A unit's own line says what is written of it, closed as well.
    for (const fold of form.querySelectorAll("details:not(.line)")) {
      const told = [...fold.querySelectorAll("input, select, textarea")].some((it) => it.type !== "hidden" && !it.name.endsWith("-who")
        && (it.type === "checkbox" ? it.checked : it.type === "radio" ? it.checked && it.value : it.value));
      if (told) fold.open = true;
    }
    Lines.say(form);
    Signing.show(form);
    return Object.fromEntries(Object.entries(content).filter(([name]) => !here.has(name)));
  }

  // The box by which somebody says that a second write-up is meant.
  function askSure(form) {
    const box = form.elements.sure;
    if (!box || box.type === "checkbox") return;
    const label = document.createElement("label");
    label.className = "tick";
    box.type = "checkbox";
    box.value = "on";
    box.id = "id_sure";
    label.htmlFor = "id_sure";
    label.append(Object.assign(document.createElement("span"), { textContent: "It is right as entered" }));
    box.before(label);
    label.prepend(box);
  }

  // ---- one form

  class Draft {
    constructor(form, { person, site, title }) {
      Object.assign(this, { form, person, site, title, item: null, rest: {}, timer: null, chain: Promise.resolve(), over: false });
      this.booking = form.elements.booking?.value ?? "";
      this.notice = document.createElement("div");
      this.notice.className = "draft_notice";
      this.notice.setAttribute("role", "status");
      this.notice.tabIndex = -1;
      form.before(this.notice);
    }

    say(...parts) {
      const line = document.createElement("p");
      line.append(...parts);
      this.notice.replaceChildren(line);
    }

    async begin() {
      const mine = (await Outbox.items()).filter((item) => item.person === this.person && String(item.site) === String(this.site));
      const key = this.form.elements.key.value;
      // One that is written up again after it was taken back comes filled in, under a key of its own.
      const again = new URLSearchParams(location.search).has("anew");
      const here = mine.filter((item) => item.id === key || (!again && (item.booking ?? "") === this.booking));
      const open = here.find((item) => item.state !== "sent" && (item.state === "draft" || Outbox.isOpen(item)));
      const sent = here.filter((item) => item.state === "sent").at(-1);
      if (open) this.take(open);
      else if (sent) {
        // The browser may have put back what stood in it; that is on file already.
        this.form.reset();
        this.form.elements.signature.value = "";
        if (sent.id === key) this.form.elements.key.value = crypto.randomUUID();
        this.say("You sent a write-up of this stop from this device on ", Outbox.timeOf(sent.at), ". ", this.link(sent.address, "Open it"),
          ". What you write here now is more work, and another write-up.");
      }
      Photos.fields(this.form);
      this.showPhotos();
      this.listen();
    }

    link(href, words) { return Object.assign(document.createElement("a"), { href, textContent: words }); }

    // Go on with what is kept, and say where it stands.
    take(item) {
      this.item = item;
      this.form.elements.key.value = item.id;
      this.rest = fill(this.form, item.fields);
      if (item.state === "draft") {
        const old = item.changed < Date.now() - LONGEST ? " It is more than a month old." : "";
        this.say(`What you wrote here until ${Outbox.timeOf(item.changed)} is filled in again.${old} `, this.button("Discard this draft", () => this.discard()));
      } else if (item.state === "refused") {
        this.refused();
      } else if (item.tries) {
        this.lock();
        this.say("This write-up waits to be sent, and may have arrived already. It can be changed again once the server has answered. ",
          this.link("/phone", "See what is not sent"));
      } else {
        this.say("This write-up waits to be sent. Change it if you like, and record it again.");
      }
      this.showPhotos();
    }

    button(words, act) {
      const button = Object.assign(document.createElement("button"), { type: "button", className: "plain", textContent: words });
      button.addEventListener("click", act);
      return button;
    }

    lock() {
      this.over = true;
      for (const it of this.form.elements) it.disabled = true;
    }

    refused() {
      const { faults = {}, why, address } = this.item;
      if (address) {
        this.lock();
        this.say("The write-up is on file, but ", why, " ", this.link(address, "Open it"));
        return;
      }
      this.say(`Not recorded. ${why} Everything you wrote is still here; correct it and record it again.`);
      for (const old of this.form.querySelectorAll(".fault")) old.remove();
      const wrong = [];
      for (const old of this.form.querySelectorAll("[aria-invalid]")) {
        old.removeAttribute("aria-invalid");
        old.removeAttribute("aria-describedby");
      }
      for (const [name, words] of Object.entries(faults)) {
        if (name === "sure") askSure(this.form);
        const found = name && this.form.elements[name];
        const field = found instanceof RadioNodeList ? found[0] : found;
        const fault = Object.assign(document.createElement("p"), { className: "fault", textContent: words });
        if (!field || field.type === "hidden") {
          this.notice.append(fault);
          continue;
        }
        const place = field.closest(".grade, .field, .ask, label") ?? field;
        fault.id = `${field.id}_refused`;
        field.setAttribute("aria-invalid", "true");
        field.setAttribute("aria-describedby", fault.id);
        place.after(fault);
        wrong.push(field);
      }
      // The first as the page has them, not as the server found them.
      wrong.sort((one, other) => (one.compareDocumentPosition(other) & Node.DOCUMENT_POSITION_FOLLOWING ? -1 : 1));
      if (wrong.length) Lines.open(wrong[0]);
      else this.notice.focus();
    }

    // ---- keeping

    listen() {
      const later = () => {
        clearTimeout(this.timer);
        this.timer = setTimeout(() => this.keep(), SAVE_AFTER);
      };
      this.form.addEventListener("input", later);
      this.form.addEventListener("change", (event) => {
        if (event.target.type === "file") this.chosen(event.target);
        else later();
      });
      this.form.addEventListener("submit", (event) => this.submit(event));
      // The camera may cost this page its life: what was written is kept before it opens.
      this.form.addEventListener("click", (event) => {
        const input = event.target;
        if (input.type !== "file" || input.dataset.kept) return;
        event.preventDefault();
        this.keep().then(() => {
          input.dataset.kept = "yes";
          input.click();
          delete input.dataset.kept;
        });
      });
      const at_once = () => { if (this.timer) this.keep(); };
      addEventListener("pagehide", at_once);
      document.addEventListener("visibilitychange", () => { if (document.hidden) at_once(); });
      // A page that comes back whole from the browser's memory asks anew what became of its write-up.
      addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });
    }

    // One after the other, so that an older state never overtakes a newer one.
    keep(facts = {}) {
      clearTimeout(this.timer);
      this.timer = null;
      if (this.over) return this.chain;
      this.chain = this.chain.then(() => this.write(facts));
      return this.chain;
    }

    async write(facts) {
      const now = Date.now();
      const id = this.form.elements.key.value;
      const fresh = {
        key: Outbox.PREFIX + id, schema: Outbox.SCHEMA, id, person: this.person, site: this.site, booking: this.booking,
        title: this.title, state: "draft", why: "", faults: {}, photos: [], begun: now, tries: 0,
      };
      const fields = { ...this.rest, ...contentOf(this.form) };
      let lost = false;
      try {
        this.item = await Store.change("outbox", fresh.key, (was) => {
          // Another tab may have sent it: then nothing is written over it.
          lost = !!was && (was.state === "sent" || was.state === "sending" || (was.state === "waiting" && was.tries > 0));
          if (lost) return undefined;
          // What is changed again is sent only once somebody says so again.
          const still = was && was.state !== "draft" ? { state: "draft" } : {};
          return { ...fresh, ...was, ...still, fields, changed: now, captured_at: new Date(now).toISOString(), ...facts };
        });
        if (lost) {
          this.lock();
          this.say("This write-up was sent from another tab. ", this.link(location.href, "Reload this page"), " to write up more work.");
        }
      } catch (fault) {
        Outbox.quietly(fault);
        this.say(fault.message, " It can still be recorded with a signal.");
        this.unkept = true;
        return false;
      }
      this.unkept = false;
      return !lost;
    }

    async discard() {
      if (!this.item || this.item.state !== "draft") return;
      this.over = true;
      for (const key of await Store.keys("photos", Outbox.photoKey(this.item.id, ""))) await Store.delete("photos", key);
      await Store.delete("outbox", this.item.key);
      location.reload();
    }

    async submit(event) {
      // Where the store keeps nothing, the form is sent as a plain one.
      if (this.over || this.unkept || event.submitter?.name === "more") return;
      event.preventDefault();
      const button = event.submitter ?? this.form.querySelector(".save button");
      button.disabled = true;
      await this.adding;
      if (!(await this.keep({ state: "waiting", why: "", faults: {}, tries: 0 }))) {
        button.disabled = false;
        if (this.unkept) this.form.submit();
        return;
      }
      this.say("Saved on this device. Sending …");
      await Promise.race([Outbox.flush(), this.recorded()]);
      this.item = await Store.get("outbox", this.item.key);
      const { state, address } = this.item;
      if (address && state !== "refused") {
        location.assign(address);
        return;
      }
      button.disabled = false;
      if (state === "refused") {
        this.refused();
        return;
      }
      this.lock();
      this.say(`Saved on this device, not sent yet. ${this.item.why || Outbox.trouble().words} `, this.link("/todays-stops", "Today’s stops"), " ",
        this.link("/phone", "See what is not sent"));
      this.notice.scrollIntoView({ block: "center" });
    }

    // Once the words are on file, a few photos are waited for; more of them go on from the next page.
    recorded() {
      return new Promise((resolve) => {
        let timer = null;
        Outbox.hear(async () => {
          const item = await Store.get("outbox", this.item.key);
          if (item?.address) timer ??= setTimeout(resolve, WAITS_FOR_PHOTOS);
        });
      });
    }

    // ---- photos of this form

    chosen(input) {
      const files = [...input.files];
      const of = Photos.shownBy(input);
      input.value = "";
      this.adding = (this.adding ?? Promise.resolve()).then(() => this.add(files, of));
    }

    async add(files, of) {
      await this.keep();
      for (const file of files) {
        try {
          const { digest, ...kept } = await Photos.shrunk(file);
          const photo = { digest, name: kept.name, size: kept.bytes.byteLength, of, state: "waiting" };
          if (!this.item || this.item.photos.some((it) => it.digest === digest)) continue;
          await Store.put("photos", { key: Outbox.photoKey(this.item.id, digest), schema: Outbox.SCHEMA, ...kept });
          await this.keep({ photos: [...this.item.photos, photo] });
        } catch (fault) {
          this.fault(fault instanceof Store.Fault ? `${file.name} was not added. ${fault.message}` : fault.message);
        }
        this.showPhotos();
      }
    }

    fault(words) {
      this.notice.append(Object.assign(document.createElement("p"), { className: "fault", textContent: words }));
      this.notice.scrollIntoView({ block: "center" });
    }

    async drop(digest) {
      await this.keep({ photos: this.item.photos.filter((photo) => photo.digest !== digest) });
      await Store.delete("photos", Outbox.photoKey(this.item.id, digest));
      this.showPhotos();
    }

    showPhotos() {
      const remove = (photo) => this.button(`Remove ${photo.name}`, () => this.drop(photo.digest));
      Photos.show(this.form, this.item?.photos ?? [], this.over ? null : remove);
    }
  }

  // Keep this form's write-up from the first touch on; the answer is its draft, or null where nothing can be kept.
  async function bind(form, about) {
    Lines.ready(form);
    Signing.ready(form);
    if (!Outbox.able) return null;
    const draft = new Draft(form, about);
    await draft.begin().catch((fault) => {
      Outbox.quietly(fault);
      draft.say(fault.message, " It can still be recorded with a signal.");
      draft.over = true;
    });
    return draft;
  }

  return { bind, ready: null };
})();

(() => {
  const form = document.querySelector("form.write_up[data-site]");
  const person = Number(document.body.dataset.person);
  if (form && person) {
    WriteUp.ready = WriteUp.bind(form, { person, site: Number(form.dataset.site), title: form.dataset.title });
  }
})();
