// A new install at the speed of typing: Enter goes on to what is blank, never past a manufacturer or a day; one more head is one
// key; a known place fills the form.
"use strict";
(() => {
  const form = document.getElementById("install");
  const rows = document.getElementById("rows");
  const places = document.getElementById("places");
  const most = Number(rows.dataset.most);
  const total = form.elements["unit-TOTAL_FORMS"];
  const models = [...document.querySelectorAll("#models option")];
  const field = (row, name) => row.querySelector(`[data-field="${name}"]`)?.querySelector("input, select");
  const key = (text) => text.replace(/[\s\-\u2010-\u2015]+/g, "").toLowerCase();
  const firstDefaults = { site: "Home", system: "System 1", region: form.elements.region.defaultValue };

  // ---- rows

  const units = () => [...rows.querySelectorAll(".unit")];
  const asked = (row, ...but) => [...row.querySelectorAll("[data-field]")].map((it) => it.dataset.field).filter((name) => !but.includes(name));
  const blank = (row) => ["maker", "model", "room", "serial"].every((name) => !field(row, name).value);

  function add(above, number = Number(total.value)) {
    if (number >= most) return null;
    const holder = document.createElement("table");
    holder.innerHTML = document.getElementById("blank_row").innerHTML.replaceAll("__prefix__", number);
    const row = holder.querySelector(".unit");
    row.querySelector(".number").textContent = number + 1;
    rows.append(row);
    total.value = Math.max(number + 1, total.value);
    copy(above, row);
    prepare(row);
    htmx.process(row);
    return row;
  }

  // All but room and serial; below anything but a head, a head of that maker is meant.
  function copy(above, row) {
    const head = field(above, "role").value === "head";
    field(row, "role").value = "head";
    field(row, "maker").value = field(above, "maker").value;
    row.dataset.copied = head ? "all" : "maker";
    if (head) for (const name of asked(row, "role", "maker", "room", "serial")) field(row, name).value = field(above, name).value;
  }

  function addHead() {
    const last = units().at(-1);
    if (!last) return;
    const row = blank(last) ? last : add(last);
    if (row) (stops(row)[0] ?? field(row, "room")).focus();
  }

  function addOutdoor() {
    const last = units().at(-1);
    const row = ["model", "room", "serial"].every((name) => !field(last, name).value) ? last : add(last);
    if (!row) return;
    field(row, "role").value = "outdoor";
    delete row.dataset.copied;
    for (const name of asked(row, "role", "maker")) field(row, name).value = "";
    (stops(row)[0] ?? field(row, "serial")).focus();
  }

  // Below anything but a head there may be another outdoor unit, so Enter comes by its role; a head is meant unless told.
  function begin(row, above) {
    if (field(above, "role").value !== "head") field(row, "role").focus();
    else (stops(row)[0] ?? field(row, "room")).focus();
  }

  // What is blank in a row as it is in the nearest one above of its role.
  function asAbove(row) {
    const here = units();
    const above = here.slice(0, here.indexOf(row)).reverse();
    const like = above.find((it) => field(it, "role").value === field(row, "role").value) ?? above[0];
    if (!like) return;
    for (const name of asked(row, "role", "room", "serial")) field(row, name).value ||= field(like, name).value;
    if (field(row, "role").value === "head") row.dataset.copied = "all";
    (stops(row)[0] ?? field(row, "serial")).focus();
  }

  function prepare(row) {
    const drop = row.querySelector(".drop");
    drop.hidden = false;
    const like = row.querySelector(".above");
    like.hidden = row === units()[0];
    like.addEventListener("click", () => asAbove(row));
    drop.addEventListener("click", () => {
      const next = row.nextElementSibling ?? row.previousElementSibling;
      if (units().length > 1) row.remove();
      field(next, "serial")?.focus();
    });
  }

  // What Enter stops at in a row: what is still blank and belongs to it.
  function stops(row) {
    const names = row.dataset.copied === "all" ? ["room", "serial"]
      : field(row, "role").value === "head" ? asked(row, "role")
      : ["maker", "model", "room", "serial"];
    return names.map((name) => field(row, name)).filter((it) => !it.value);
  }

  function onward(here) {
    const row = here.closest(".unit");
    if (holds(here)) return wait(here);
    if (!row) return afterwards(here)?.focus();
    learn(row);
    const follows = (it) => here.compareDocumentPosition(it) & Node.DOCUMENT_POSITION_FOLLOWING;
    const next = stops(row).find(follows);
    if (next) return next.focus();
    if (!blank(row) && holds(field(row, "maker"))) return wait(field(row, "maker"));
    if (blank(row)) return (stops(row)[0] ?? field(row, "room")).focus();
    const below = row.nextElementSibling ?? add(row);
    if (!below) return undefined;
    if (below.dataset.copied === undefined && blank(below)) copy(row, below);
    return begin(below, row);
  }

  // What Enter does not pass while it is blank; Tab does.
  function holds(here) {
    const row = here?.closest(".unit");
    const isDay = ["installed_on", "started_on"].includes(here?.name);
    return (isDay || (row && here === field(row, "maker"))) && !here.value;
  }

  function wait(here) {
    const place = here.closest("[data-field]");
    if (!place.querySelector(".held")) {
      const word = document.createElement("p");
      word.className = "note held";
      word.id = `${here.id}_held`;
      word.textContent = here.type === "date" ? "Enter the day. Tab leaves it blank." : "Enter the manufacturer. Tab leaves it blank.";
      place.append(word);
      here.setAttribute("aria-describedby", word.id);
      here.addEventListener("input", () => {
        word.remove();
        here.removeAttribute("aria-describedby");
      }, { once: true });
    }
    document.getElementById("told").textContent = place.querySelector(".held").textContent;
    here.focus();
  }

  // A whole address in the street's field fills those of its parts as it is left (address.js), so Enter goes past them.
  function isWhole(here) {
    return here.name === "street" && /,|\s\d{5}(-\d{4})?$/.test(here.value.trim()) && !form.elements.city.value && !form.elements.postcode.value;
  }

  // The next field of the form; those folded away are passed by, and of the rows the first thing still blank.
  function afterwards(here) {
    const all = [...form.querySelectorAll("input:not([type=hidden], [type=checkbox], [type=file]), select")].filter((it) => it.checkVisibility());
    const next = isWhole(here) ? form.elements.use : all[all.indexOf(here) + 1];
    const row = next?.closest(".unit");
    return row ? stops(row)[0] ?? field(row, "room") : next;
  }

  // ---- what is on file is written to its end, and may be written over

  function complete(input, options) {
    const text = input.value;
    if (!text || input.selectionStart !== text.length) return;
    const found = options.find((option) => option.toLowerCase().startsWith(text.toLowerCase()));
    if (!found || found.length === text.length) return;
    input.value = text + found.slice(text.length);
    input.setSelectionRange(text.length, found.length);
  }

  const ofMaker = (row) => models.filter((it) => key(it.dataset.maker) === key(field(row, "maker").value));
  const makers = [...document.querySelectorAll("#makers option")].map((it) => it.value);

  form.addEventListener("input", (event) => {
    const row = event.target.closest(".unit");
    if (!row) return;
    const written = event.inputType === "insertText";
    if (written && event.target === field(row, "maker")) complete(event.target, makers);
    if (written && event.target === field(row, "model")) {
      const role = field(row, "role").value;
      const known = ofMaker(row);
      complete(event.target, [...known.filter((it) => it.dataset.role === role), ...known].map((it) => it.value));
    }
  });

  // What is on file is spelled as it is there, and a model on file says which style it is.
  function learn(row) {
    const [maker, model, style] = ["maker", "model", "style"].map((name) => field(row, name));
    maker.value = makers.find((it) => key(it) === key(maker.value)) ?? maker.value;
    const known = ofMaker(row).find((it) => key(it.value) === key(model.value));
    if (!known) return;
    model.value = known.value;
    if (!style.value && field(row, "role").value === known.dataset.role) style.value = known.dataset.style;
  }

  form.addEventListener("focusout", (event) => {
    const row = event.target.closest(".unit");
    if (row && event.target.matches("[data-field=maker] *, [data-field=model] *")) learn(row);
  });

  // ---- places on file

  let filled = {};

  function choose(place) {
    filled = { ...place.dataset };
    for (const [name, value] of Object.entries(filled)) if (form.elements[name]) form.elements[name].value = value;
    places.replaceChildren();
    form.elements.system.focus();
    form.elements.system.select();
  }

  // Another name is another customer: what belonged to the place that was chosen goes, unless it was written over.
  function unchoose() {
    for (const [name, value] of Object.entries(filled)) {
      const it = form.elements[name];
      if (it && name !== "customer" && it.value === value) it.value = firstDefaults[name] ?? "";
    }
    filled = {};
  }

  form.elements.customer.addEventListener("input", unchoose);
  places.addEventListener("click", (event) => {
    const place = event.target.closest(".place");
    if (place) choose(place);
  });

  function walk(event) {
    const all = [form.elements.customer, ...places.querySelectorAll(".place")];
    const at = all.indexOf(event.target);
    if (at < 0 || all.length < 2) return;
    event.preventDefault();
    all[at + (event.key === "ArrowDown" ? 1 : -1)]?.focus();
  }

  // ---- keys

  // Before each date, one Shift+Tab away, a button writes today, and from the second on another the date before it.
  function offerDays(days) {
    days.forEach((day, at) => {
      const offers = [["Today", () => form.dataset.today]];
      if (at) offers.unshift(["Same day", () => days[at - 1].value]);
      const here = document.createElement("span");
      here.className = "day_offers";
      for (const [words, value] of offers) {
        const offer = document.createElement("button");
        offer.type = "button";
        offer.className = "plain";
        offer.textContent = words;
        offer.setAttribute("aria-label", `${words}: ${day.labels[0]?.textContent ?? ""}`);
        offer.addEventListener("click", () => {
          day.value = value();
          day.dispatchEvent(new Event("change", { bubbles: true }));
          if (day.value) afterwards(day)?.focus();
        });
        here.append(offer);
      }
      day.before(here);
    });
  }

  form.addEventListener("keydown", (event) => {
    const here = event.target;
    if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) {
      event.preventDefault();
      form.requestSubmit(document.getElementById("save"));
    } else if (event.isComposing || event.ctrlKey || event.metaKey || event.altKey) {
      return;
    } else if (event.key === "Enter" && here.matches("input:not([type=checkbox], [type=file]), select")) {
      event.preventDefault();
      onward(here);
    } else if (event.key === "o" && here.matches("[data-field=role] select") && here.value !== "outdoor") {
      event.preventDefault();  // a browser goes on from "head" to "other"; an outdoor unit is what is mostly meant
      here.value = "outdoor";
      here.dispatchEvent(new Event("change", { bubbles: true }));
    } else if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      walk(event);
    } else if (event.key === "Escape" && places.childElementCount && (here === form.elements.customer || places.contains(here))) {
      places.replaceChildren();
      form.elements.customer.focus();
    }
  });

  // ---- a draft that comes back: first its rows, as they were numbered; afterwards what its heads have in common

  form.addEventListener("draft:rows", ({ detail }) => {
    const numbers = new Set(detail.names.map((name) => /^unit-(\d+)-/.exec(name)?.[1]).filter(Boolean));
    if (!numbers.size) return;
    const numberOf = (row) => row.dataset.prefix.slice("unit-".length);
    for (const row of units()) if (!numbers.has(numberOf(row)) && units().length > 1) row.remove();
    const there = new Set(units().map(numberOf));
    for (const number of numbers) if (!there.has(number)) add(units().at(-1), Number(number));
  });
  form.addEventListener("draft:back", () => {
    const all = units();
    for (const [at, row] of all.entries()) {
      const above = all[at - 1];
      const isLike = above && field(above, "role").value === "head" && field(above, "model").value === field(row, "model").value;
      if (isLike && field(row, "role").value === "head") row.dataset.copied = "all";
    }
    places.replaceChildren();
  });

  // ---- at the start

  document.querySelector(".keys").hidden = false;
  document.getElementById("more_rows").hidden = true;
  const button = document.getElementById("add_head");
  button.hidden = false;
  button.addEventListener("click", addHead);
  const outdoor = document.getElementById("add_outdoor");
  outdoor.hidden = false;
  outdoor.addEventListener("click", addOutdoor);
  units().forEach(prepare);
  offerDays([...document.querySelectorAll("#install .system_days input[type=date]")]);
  form.querySelector("[aria-invalid]")?.focus();
})();
