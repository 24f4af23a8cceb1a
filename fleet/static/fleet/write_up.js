// "The same for all" shows at once what it ticks; one that is unticked again is no longer meant by it.
"use strict";

document.addEventListener("change", ({ target }) => {
  const form = target.closest(".write_up");
  if (!form) return;
  const ticks = (task) => [...form.querySelectorAll("[data-task]")].filter(
    (tick) => tick.dataset.task === task && tick.closest("ul").parentElement.matches("fieldset"));
  const skipped = (tick) => tick.closest(".ask").querySelector("select").value !== "";
  if (target.dataset.all) {
    for (const tick of ticks(target.dataset.all)) tick.checked = target.checked && !skipped(tick);
  } else if (target.dataset.task && !target.checked) {
    for (const all of form.querySelectorAll("[data-all]")) if (all.dataset.all === target.dataset.task) all.checked = false;
  } else if (target.matches(".skipped select") && target.value) {
    target.closest(".ask").querySelector("[data-task]").checked = false;
  }
});

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
