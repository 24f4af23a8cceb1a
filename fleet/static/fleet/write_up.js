// The form of a write-up, made quick: one check mark for several tasks shows at once what it checks, each unit's line says what is
// written of it, a keypad without a minus gets one, and what is wrong has the focus.
"use strict";

const Lines = (() => {
  const inSight = (tick) => !tick.closest("details.rest");
  const ticksOf = (form, task) => [...form.querySelectorAll("[data-task]")].filter(
    (tick) => inSight(tick) && (task === undefined || tick.dataset.task === task));
  const skipped = (tick) => tick.closest(".ask").querySelector("select").value !== "";

  // What is written of a unit so far, in the words in which the server begins (UnitFields.line).
  function words(unit) {
    const asks = [...unit.querySelectorAll(".ask [data-task]")];
    const [open, done, left] = [asks.filter(inSight).length, asks.filter((tick) => tick.checked).length, asks.filter(skipped).length];
    const grades = [...unit.querySelectorAll(".grade input:checked")].filter((it) => it.value).map((it) => {
      const part = it.closest("fieldset").querySelector("legend").textContent.trim().split(" ").at(-1).toLowerCase();
      return `${part} ${it.labels[0].textContent.trim()}`;
    });
    const read = [...unit.querySelectorAll('input[name^="read-"]')].filter((it) => it.value.trim()).length;
    return [
      open ? `${done} of ${open} done` : done ? `${done} done` : "",
      left ? `${left} skipped` : "",
      ...grades,
      read ? `${read} reading${read === 1 ? "" : "s"}` : "",
      unit.querySelector('[name^="notes-"]')?.value.trim() ? "note" : "",
    ].filter(Boolean).join(", ") || "nothing due";
  }

  function say(form) {
    for (const unit of form.querySelectorAll(".head_of")) {
      const line = unit.querySelector(".set");
      const now = words(unit);
      if (line.textContent !== now) line.textContent = now;
    }
  }

  // A button that turns a value over, for keypads that have digits only.
  function sign(input) {
    const button = Object.assign(document.createElement("button"), { type: "button", className: "second sign", textContent: "±" });
    const label = input.labels[0]?.textContent.trim() ?? "";
    button.setAttribute("aria-label", `${label}: above or below zero`);
    button.addEventListener("click", () => {
      input.value = /^\s*[-−]/.test(input.value) ? input.value.replace(/^\s*[-−]\s*/, "") : `-${input.value.trim()}`;
      input.focus();
      input.dispatchEvent(new Event("input", { bubbles: true }));
      input.dispatchEvent(new Event("change", { bubbles: true }));
    });
    const both = document.createElement("span");
    both.className = "signed";
    input.before(both);
    both.append(input, button);
    input.inputMode = "decimal";
  }

  // Everything that it stands in is opened, and it has the focus, so that what is wrong with it is read out.
  function open(field) {
    for (let fold = field.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
    field.focus();
    field.scrollIntoView({ block: "center" });
  }

  function ready(form) {
    if (form.dataset.ready) return;
    form.dataset.ready = "yes";
    for (const input of form.querySelectorAll("[data-signed]")) sign(input);
    say(form);
    const wrong = form.querySelector("[aria-invalid=true]");
    const fault = [...form.parentElement.children].find((it) => it.matches(".fault"));
    if (wrong) open(wrong);
    else if (fault) {
      fault.tabIndex = -1;
      fault.focus();
    }
  }

  document.addEventListener("change", ({ target }) => {
    const form = target.closest(".write_up");
    if (!form) return;
    const several = [...form.querySelectorAll("[data-everything], [data-all]")];
    if (target.dataset.everything !== undefined || target.dataset.all) {
      for (const tick of ticksOf(form, target.dataset.all)) tick.checked = target.checked && !skipped(tick);
      for (const other of several) {
        if (!target.checked && other.dataset.everything !== undefined) other.checked = false;
        if (target.dataset.everything !== undefined) other.checked = target.checked && !ticksOf(form, other.dataset.all).some(skipped);
      }
    } else if (target.matches(".skipped select") && target.value) {
      target.closest(".ask").querySelector("[data-task]").checked = false;
    }
    // One that was unchecked again, or is skipped, is no longer meant by the mark for several.
    for (const ask of form.querySelectorAll(".ask [data-task]")) {
      if (ask.checked || !inSight(ask)) continue;
      for (const other of several) if (other.dataset.everything !== undefined || other.dataset.all === ask.dataset.task) other.checked = false;
    }
    say(form);
  });
  document.addEventListener("input", ({ target }) => {
    const form = target.closest(".write_up");
    if (form) say(form);
  });
  for (const form of document.querySelectorAll("form.write_up")) ready(form);

  return Object.freeze({ ready, say, open });
})();

// One more row of failures or refrigerant is made here, so that photos that were chosen stay chosen; without scripts the server makes it.
const MOST_ROWS = 20;
document.addEventListener("click", (event) => {
  const button = event.target.closest('.write_up button[name="more"]');
  if (!button) return;
  const part = button.closest("details");
  const rows = part.querySelectorAll("fieldset.row");
  if (!rows.length || rows.length >= MOST_ROWS) return;
  event.preventDefault();
  const last = rows[rows.length - 1];
  const next = last.cloneNode(true);
  const [before, after] = [rows.length - 1, rows.length].map((number) => `${button.value}-${number}-`);
  for (const fault of next.querySelectorAll(".fault")) fault.remove();
  for (const node of next.querySelectorAll("*")) {
    for (const name of ["name", "id", "for", "aria-describedby"]) {
      if (node.hasAttribute(name)) node.setAttribute(name, node.getAttribute(name).replace(before, after));
    }
    if (node.type === "checkbox") node.checked = false;
    else if (node.tagName === "SELECT") node.selectedIndex = 0;
    else if (node.tagName === "INPUT" && !node.name.endsWith("-who")) node.value = "";
  }
  next.querySelector("legend").textContent = `${next.dataset.what} ${rows.length + 1}`;
  last.after(next);
  part.querySelector(`[name="${button.value}-rows"]`).value = rows.length + 1;
  next.querySelector("select").focus();
});
