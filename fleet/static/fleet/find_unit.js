// Finding a unit in a write-up: by part of its serial or room, with or without a signal, and by the address that a scan leads back to.
"use strict";

(() => {
  const ALIKE = { o: "0", q: "0", i: "1", l: "1", s: "5", z: "2", b: "8" };
  const folded = (text) => text.toLowerCase().replace(/[^\p{L}\p{N}]/gu, "").replace(/[oqilszb]/g, (letter) => ALIKE[letter]);
  const parts = () => [...document.querySelectorAll(".write_up [id^='unit-']")].filter((part) => /^unit-\d+$/.test(part.id));
  const named = (part) => folded((part.querySelector("legend, summary") ?? part).textContent);

  // Whatever is folded around the unit's part opens; then it stands at the top, and its first control has the focus.
  function land(part) {
    for (let around = part; around; around = around.parentElement) if (around.matches("details")) around.open = true;
    const fold = part.querySelector(":scope > details:first-of-type:not(.part)");
    if (fold) fold.open = true;
    part.scrollIntoView({ block: "start" });
    const first = [...part.querySelectorAll("input:not([type='hidden']), select, textarea, summary, button")].find((it) => it.getClientRects().length);
    first?.focus({ preventScroll: true });
  }

  async function ofAddress() {
    const part = /^#unit-\d+$/.test(location.hash) && document.getElementById(location.hash.slice(1));
    if (!part) return;
    // What was written before is filled in first, since that opens what is folded above it.
    if (typeof WriteUp !== "undefined") await WriteUp.ready;
    land(part);
  }

  function ofWords(field) {
    const told = field.closest(".find_unit").querySelector("[role='status']");
    const text = folded(field.value);
    const found = text ? parts().filter((part) => named(part).includes(text)) : [];
    if (found.length === 1) {
      told.textContent = "";
      land(found[0]);
    } else if (text) {
      told.textContent = found.length ? `${found.length} units here have “${field.value}” in their serial or room. Type more of it.`
        : `No unit here has “${field.value}” in its serial or room.`;
    }
  }

  document.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || !event.target.matches("[data-find-unit]")) return;
    event.preventDefault();
    ofWords(event.target);
  });
  document.addEventListener("click", (event) => {
    const place = event.target.closest(".find_unit");
    if (!place) return;
    if (event.target.closest("button")) ofWords(place.querySelector("[data-find-unit]"));
    else if (event.target.closest("a") && !navigator.onLine) {
      event.preventDefault();
      place.querySelector("[role='status']").textContent = "There is no signal, so a photo cannot be read. Type part of the serial or room here.";
      place.querySelector("[data-find-unit]").focus();
    }
  });
  window.addEventListener("hashchange", ofAddress);
  if (document.readyState === "complete") ofAddress();
  else window.addEventListener("load", ofAddress);
})();
