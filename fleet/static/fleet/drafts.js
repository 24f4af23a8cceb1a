// What is typed in a form is kept in this browser until it is saved, and offered again when somebody comes back to the form.
//
// A draft belongs to a person and a form: the form's address (where it is sent) and, where a page has several that go to one
// address, the name in its `data-draft` ("none": this form has no drafts). Each tab writes a draft of its own, so two never
// write over one another; one that was brought back in two tabs is split at the first word that differs. A form that is sent
// says which draft it was (`_draft`); the server answers a save with a cookie `saved-…`, and only that removes the draft:
// a refused save, a lost answer or a login in between leave it. Hidden fields are kept too, since they hold what stood on file
// when somebody began; passwords and the like never are. Chosen files lie beside it and are chosen again.
//
// A page's own script that makes rows hears `draft:rows` before they are filled (detail: the names of all fields) and
// `draft:back` afterwards.
"use strict";
(() => {
  const SCHEMA = 1;
  const DAY = 86_400_000;
  const LONGEST = 30 * DAY;  // a draft that nobody wanted for so long is given up
  const SECRET = /password|passphrase|secret|token|csrf/i;
  const NOT_TYPED = ["file", "submit", "button", "image", "reset", "password"];
  const person = document.body.dataset.person;
  const drafts = new Map();  // of the forms on this page
  const say = (text) => { document.getElementById("told").textContent = text; };
  const day = (at) => new Date(at).toLocaleString("en-US", { dateStyle: "long", timeStyle: "short" });

  // ---- what a form holds

  const isBox = (it) => it.type === "checkbox" || it.type === "radio";
  const typed = (form) => [...form.elements].filter((it) => it.matches("input, select, textarea") && it.name
    && !NOT_TYPED.includes(it.type) && !SECRET.test(it.name) && !/^(cc-|one-time-code)|password/.test(it.autocomplete)
    && it.name !== "_draft" && it.name !== "_page");
  const chosen = (it) => [...it.options].filter((option) => option.selected).map((option) => option.value);
  const valueOf = (it) => isBox(it) ? [it.value, it.checked] : it.multiple && it.options ? chosen(it) : it.value;

  function contentOf(form) {
    const content = { seen: [], hidden: [] };
    for (const it of typed(form)) content[it.type === "hidden" ? "hidden" : "seen"].push([it.name, valueOf(it)]);
    return content;
  }

  // A value of the page as the browser reads it: a day that is none, for example, is nothing.
  function asRead(it) {
    if (it.matches("textarea")) return it.defaultValue;
    const alike = document.createElement("input");
    alike.type = it.type;
    alike.value = it.defaultValue;
    return alike.value;
  }

  // What a page came with, whatever a browser put back into it.
  function pristine(form) {
    return JSON.stringify(typed(form).filter((it) => it.type !== "hidden").map((it) => {
      if (isBox(it)) return [it.name, [it.value, it.defaultChecked]];
      if (!it.options) return [it.name, asRead(it)];
      const before = [...it.options].filter((option) => option.defaultSelected).map((option) => option.value);
      return [it.name, it.multiple ? before : before.at(-1) ?? it.options[0]?.value ?? ""];
    }));
  }

  const inputs = (form) => [...form.querySelectorAll("input[type=file]")];
  const actionOf = (form) => new URL(form.getAttribute("action") || location.href, location.href);

  // Under which name a form's drafts are kept.
  function nameOf(form) {
    const action = actionOf(form);
    const own = form.dataset.draft;
    const name = own ? `${action.pathname}#${own}` : `${action.pathname}${action.search}${action.hash}`;
    const twins = [...document.querySelectorAll("form")].filter((it) => it !== form && drafts.get(it)?.plain === name).length;
    return { plain: name, name: twins ? `${name}~${twins}` : name };
  }

  // The words by which somebody knows it again: the first few that were written.
  function wordsOf(form, before) {
    const were = new Set(JSON.parse(before).map((pair) => JSON.stringify(pair)));
    const words = typed(form).filter((it) => it.matches("input, textarea") && !isBox(it) && it.type !== "hidden" && it.value.trim()
      && !were.has(JSON.stringify([it.name, it.value]))).map((it) => it.value.trim());
    return words.slice(0, 4).map((word) => word.length > 40 ? `${word.slice(0, 40)}…` : word).join(", ");
  }

  // ---- in the store

  const fresh = () => `${Date.now().toString(36)}-${[...crypto.getRandomValues(new Uint8Array(8))].map((it) => it.toString(36)).join("")}`;
  const filesOf = (id) => `draft|${id}|`;

  async function forget(key, mayGo = () => true) {
    let gone = false;
    await Store.change("drafts", key, (was) => {
      gone = !was || mayGo(was);
      return was && gone ? null : undefined;
    });
    if (gone) for (const file of await Store.keys("photos", filesOf(key.split("|").at(-1)))) await Store.delete("photos", file);
  }

  // What the server says it saved goes, unless another tab wrote on.
  async function settle() {
    for (const [, id, at] of document.cookie.matchAll(/(?:^|;\s*)saved-([0-9a-z-]+)=(\d+)/g)) {
      for (const key of await Store.keys("drafts")) if (key.endsWith(`|${id}`)) await forget(key, (was) => was.at <= Number(at));
      document.cookie = `saved-${id}=; path=/; max-age=0; samesite=lax`;
    }
  }

  // Old ones go, whoever's they are, and files that no draft has any more.
  async function clear() {
    const now = Date.now();
    await Store.each("drafts", async (item) => {
      if (item.rev && (item.at < now - LONGEST || item.thrown < now - DAY)) await forget(item.key);
    });
    const left = new Set((await Store.keys("drafts")).map((key) => key.split("|").at(-1)));
    for (const key of await Store.keys("photos", "draft|")) if (!left.has(key.split("|")[1])) await Store.delete("photos", key);
  }

  // Where nothing is kept, that is said once somebody types, not before.
  const quietly = (fault) => { if (!(fault instanceof Store.Fault)) throw fault; };
  const settled = settle().catch(quietly);

  // ---- the draft of one form on this page

  class Draft {
    constructor(form, keys) {
      Object.assign(this, { form, ...nameOf(form) }, { id: "", rev: 0, begun: 0, last: "", next: null, busy: false });
      this.before = pristine(form);
      this.blank = this.before;  // as it was before anything was typed, also where a refused save came back
      this.page = location.pathname + location.search;
      const echoed = document.body.dataset.answers;
      this.isAnswer = echoed !== undefined && actionOf(form).pathname === location.pathname;
      this.ready = keys.then((all) => this.begin(all, echoed)).catch(quietly);
    }

    get key() { return this.keyOf(this.id); }
    keyOf(id) { return `${person}|${this.name}|${id}`; }

    take(item) {
      Object.assign(this, { id: item.key.split("|").at(-1), rev: item.rev, begun: item.begun, page: item.page, blank: item.blank });
    }

    // At the start: a refused form goes on with its draft; one that the browser filled again has it already; else it is offered.
    async begin(keys, echoed) {
      if (this.isAnswer && echoed) {
        const key = keys.find((one) => one.endsWith(`|${echoed}`));
        const item = key && await Store.get("drafts", key);
        if (item) {
          this.name = key.split("|").slice(1, -1).join("|");
          this.take(item);
          await this.chooseAgain();
          queueMicrotask(() => this.keep());
          return;
        }
      }
      const offered = [];
      for (const key of keys.filter((one) => one.startsWith(this.keyOf("")))) {
        const item = await Store.get("drafts", key);
        if (!item || item.schema > SCHEMA || item.thrown) continue;
        if (!this.rev && JSON.stringify(item.seen) === JSON.stringify(contentOf(this.form).seen)) this.take(item);
        else offered.push(item);
      }
      if (this.rev) await this.chooseAgain();
      for (const item of offered) this.offer(item);
    }

    isUntouched(text) { return !this.isAnswer && text === this.before && !this.hasFiles(); }
    start() { Object.assign(this, { id: fresh(), rev: 0, begun: Date.now() }); }

    keep() {
      const content = contentOf(this.form);
      const text = JSON.stringify(content.seen);
      if (text === this.last) return;
      this.last = text;
      if (!this.id && !this.isUntouched(text)) this.start();
      this.next = { content, text, at: Date.now() };
      if (!this.busy) this.write();
    }

    async write() {
      this.busy = true;
      await this.ready;
      try {
        while (this.next) {
          const now = this.next;
          this.next = null;
          await this.put(now);
        }
        this.note?.remove();
      } catch (fault) {
        this.fail(fault);
      }
      this.busy = false;
    }

    async put(now) {
      const { content, text, at } = now;
      if (this.isUntouched(text)) {
        if (this.id) await forget(this.key, (was) => was.rev === this.rev);
        Object.assign(this, { id: "", rev: 0 });
        return;
      }
      if (!this.id) this.start();
      const words = wordsOf(this.form, this.blank);
      let split = false;
      await Store.change("drafts", this.key, (was) => {
        split = (was?.rev ?? 0) !== this.rev;
        if (split) return undefined;
        return { key: this.key, schema: SCHEMA, rev: this.rev + 1, begun: this.begun, at, page: this.page, blank: this.blank, words, ...content };
      });
      if (!split) {
        this.rev += 1;
        return;
      }
      // Another tab wrote on in this draft, saved it or threw it away: what is here becomes one of its own.
      Object.assign(this, { id: "", rev: 0 });
      await this.put(now);
      for (const input of inputs(this.form)) await this.putFiles(input);
    }

    hasFiles() { return inputs(this.form).some((it) => it.files.length); }

    async keepFiles(input) {
      this.last = "";
      this.keep();
      await this.rest();
      await this.putFiles(input).catch((fault) => this.fail(fault));
    }

    async putFiles(input) {
      if (!this.id) return;
      const mine = `${filesOf(this.id)}${input.name}|`;
      for (const key of await Store.keys("photos", mine)) await Store.delete("photos", key);
      for (const [number, file] of [...input.files].entries()) {
        await Store.put("photos", { key: `${mine}${String(number).padStart(4, "0")}`, schema: SCHEMA, ...await Store.bytesOf(file) });
      }
    }

    // Wait until nothing is being written.
    async rest() { while (this.busy) await new Promise((done) => setTimeout(done, 20)); }

    // Put the draft's files into the form again, where the browser can.
    async chooseAgain() {
      for (const input of inputs(this.form)) {
        if (input.files.length || input.disabled) continue;
        const box = new DataTransfer();
        await Store.each("photos", (kept) => { box.items.add(Store.fileOf(kept)); }, `${filesOf(this.id)}${input.name}|`);
        if (!box.files.length) continue;
        input.files = box.files;
        const names = [...input.files].map((file) => file.name).join(", ");
        this.tell(`Still chosen: ${names}.`, input);
      }
    }

    // ---- what is said of it

    // A box of words, above the form or after one of its fields.
    tell(text, after = null, ...buttons) {
      const box = document.createElement("p");
      box.className = "draft";
      box.append(text);
      for (const [words, act] of buttons) {
        const button = document.createElement("button");
        Object.assign(button, { type: "button", className: "second", textContent: words });
        button.addEventListener("click", () => act(box));
        box.append(" ", button);
      }
      if (after) after.after(box);
      else this.form.before(box);
      return box;
    }

    offer(item) {
      for (let fold = this.form.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
      const words = item.words ? `: ${item.words}` : "";
      this.tell(`You began this on ${day(item.begun)} and have not saved it${words}.`, null,
        ["Bring it back", (box) => this.bringBack(item.key, box).catch((fault) => this.fail(fault))],
        ["Throw it away", (box) => this.throwAway(item.key, box).catch((fault) => this.fail(fault))]);
    }

    async throwAway(key, box) {
      const mark = (thrown) => Store.change("drafts", key, (was) => was && { ...was, thrown });
      await mark(Date.now());
      const put = this.tell("Thrown away.", box, ["Undo", async () => {
        await mark(undefined);
        put.replaceWith(box);
        box.querySelector("button").focus();
      }]);
      box.remove();
      put.querySelector("button").focus();
    }

    async bringBack(key, box) {
      const item = await Store.get("drafts", key);
      box.remove();
      if (!item) return say("It is gone: it was saved or thrown away in another tab.");
      await this.rest();
      const other = this.id && await Store.get("drafts", this.key);
      this.take(item);
      const left = this.fill(item);
      this.last = JSON.stringify(contentOf(this.form).seen);
      await this.chooseAgain();
      if (other) this.offer(other);
      if (left.length) this.tell(`This had no place in the form any more: ${left.join(", ")}.`);
      say("What you typed is back. It is not saved yet.");
      return undefined;
    }

    // Fill the form; gives what was typed and has no field any more.
    fill({ seen, hidden }) {
      const { form } = this;
      const names = [...hidden, ...seen].map(([name]) => name);
      form.dispatchEvent(new CustomEvent("draft:rows", { bubbles: true, detail: { names } }));
      const places = new Map();
      for (const it of typed(form)) places.set(it.name, [...places.get(it.name) ?? [], it]);
      const changed = [];
      const left = [];
      for (const [name, value] of [...hidden, ...seen]) {
        const here = places.get(name) ?? [];
        const box = here.find(isBox) !== undefined;
        const it = box ? here.find((one) => one.value === value[0]) : here.shift();
        if (!it) {
          if (typeof value === "string" && value && seen.some((pair) => pair[0] === name)) left.push(value);
          continue;
        }
        const was = JSON.stringify(valueOf(it));
        if (box) it.checked = value[1];
        else if (it.multiple && it.options) for (const option of it.options) option.selected = value.includes(option.value);
        else if (!it.options || [...it.options].some((option) => option.value === value)) it.value = value;
        else if (value) left.push(value);
        if (it.type !== "hidden" && JSON.stringify(valueOf(it)) !== was) changed.push(it);
      }
      for (const it of changed) it.dispatchEvent(new Event("change", { bubbles: true }));
      form.dispatchEvent(new CustomEvent("draft:back", { bubbles: true }));
      (changed.find((it) => it.checkVisibility?.() ?? true) ?? form.querySelector("input:not([type=hidden]), select, textarea"))?.focus();
      return left;
    }

    fail(fault) {
      if (!(fault instanceof Store.Fault)) throw fault;
      this.note?.remove();
      this.note = this.tell(fault.message);
      this.note.classList.add("unkept");
    }
  }

  // ---- on the page

  // What the outbox keeps it keeps by itself, but not on a page of plain http.
  const kept = (form) => form.dataset.draft === "none" || (form.dataset.draft === "outbox" && isSecureContext);
  const mayHave = (form) => form.method === "post" && !kept(form) && (inputs(form).length
    || typed(form).some((it) => it.type !== "hidden"));

  function take(root) {
    for (const form of drafts.keys()) if (!form.isConnected) drafts.delete(form);
    const forms = [...root.querySelectorAll("form"), ...root.matches("form") ? [root] : []];
    const news = forms.filter((form) => !drafts.has(form) && mayHave(form));
    if (!news.length) return;
    const keys = settled.then(() => Store.keys("drafts", `${person}|`));
    for (const form of news) drafts.set(form, new Draft(form, keys));
  }

  const of = (event) => drafts.get(event.target.form ?? event.target.closest?.("form"));
  for (const kind of ["input", "change"]) {
    document.addEventListener(kind, (event) => {
      of(event)?.keep();
      if (kind === "change" && event.target.type === "file") of(event)?.keepFiles(event.target);
    });
  }
  // A row added or dropped and a place chosen by a button are no input, and are there once the page's own script is done.
  document.addEventListener("click", (event) => { const draft = of(event); if (draft) setTimeout(() => draft.keep(), 0); }, true);

  document.addEventListener("submit", (event) => {
    const draft = drafts.get(event.target);
    if (!draft || event.defaultPrevented) return;
    draft.keep();
    if (!draft.id) return;
    for (const [name, value] of [["_draft", `${draft.id}.${Date.now()}`], ["_page", draft.page]]) {
      const mark = draft.form.querySelector(`:scope > input[name=${name}]`) ?? document.createElement("input");
      Object.assign(mark, { type: "hidden", name, value });
      draft.form.append(mark);
    }
  });

  take(document.body);
  document.addEventListener("htmx:load", (event) => take(event.detail.elt));
  Promise.all([...drafts.values()].map((draft) => draft.ready)).then(clear).catch(quietly);
})();
