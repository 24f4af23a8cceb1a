// A new install at the speed of typing: Enter goes on to what is blank, one more head is one key, a known place fills the form.
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
  const firstDefaults = { site: "Home", system: "System 1" };

  // ---- rows

  const units = () => [...rows.querySelectorAll(".unit")];
  const asked = (row, ...but) => [...row.querySelectorAll("[data-field]")].map((it) => it.dataset.field).filter((name) => !but.includes(name));
  const blank = (row) => ["maker", "model", "room", "serial"].every((name) => !field(row, name).value);

  function add(above) {
    const number = Number(total.value);
    if (number >= most) return null;
    const holder = document.createElement("table");
    holder.innerHTML = document.getElementById("blank_row").innerHTML.replaceAll("__prefix__", number);
    const row = holder.querySelector(".unit");
    row.querySelector(".number").textContent = number + 1;
    rows.append(row);
    total.value = number + 1;
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

  function prepare(row) {
    const drop = row.querySelector(".drop");
    drop.hidden = false;
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
    if (!row) return afterwards(here)?.focus();
    learn(row);
    const follows = (it) => here.compareDocumentPosition(it) & Node.DOCUMENT_POSITION_FOLLOWING;
    const next = stops(row).find(follows);
    if (next) return next.focus();
    const below = row.nextElementSibling;
    if (!below) return addHead();
    if (below.dataset.copied === undefined && blank(below)) copy(row, below);
    (stops(below)[0] ?? field(below, "room")).focus();
  }

  // The next field of the form; those folded away are passed by, and of the rows the first thing still blank.
  function afterwards(here) {
    const all = [...form.querySelectorAll("input:not([type=hidden], [type=checkbox]), select")].filter((it) => it.checkVisibility());
    const next = all[all.indexOf(here) + 1];
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
    } else if (event.key === "Enter" && here.matches("input:not([type=checkbox]), select")) {
      event.preventDefault();
      onward(here);
    } else if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      walk(event);
    } else if (event.key === "Escape" && places.childElementCount && (here === form.elements.customer || places.contains(here))) {
      places.replaceChildren();
      form.elements.customer.focus();
    }
  });

  // ---- at the start

  document.querySelector(".keys").hidden = false;
  document.getElementById("more_rows").hidden = true;
  const button = document.getElementById("add_head");
  button.hidden = false;
  button.addEventListener("click", addHead);
  units().forEach(prepare);
  offerDays([...document.querySelectorAll("#install .system_days input[type=date]")]);
  form.querySelector("[aria-invalid]")?.focus();
})();
