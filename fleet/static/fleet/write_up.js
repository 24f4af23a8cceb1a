// "The same for all" shows at once what it ticks; one that is unticked again is no longer meant by it.
"use strict";

document.querySelector(".write_up")?.addEventListener("change", ({ target, currentTarget: form }) => {
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
