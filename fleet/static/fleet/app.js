// What plain pages cannot do: a key for the look-up, and saying so when the server does not answer.
"use strict";

const lookup = () => document.getElementById("lookup");
const found = () => document.getElementById("found");
const writing = (element) => element.matches("input, select, textarea, [contenteditable]");

document.addEventListener("keydown", (event) => {
  const here = event.target;
  if (event.ctrlKey || event.metaKey || event.altKey || !lookup()) return;
  if (event.key === "/" && !writing(here)) {
    event.preventDefault();
    lookup().focus();
    lookup().select();
  } else if (event.key === "Escape" && here === lookup()) {
    lookup().value = "";
    if (found().matches(".head + .found")) found().replaceChildren();
  } else if (event.key === "ArrowDown" || event.key === "ArrowUp") {
    step(event, event.key === "ArrowDown" ? 1 : -1);
  }
});

// From the look-up into what it found, and back.
function step(event, by) {
  if (event.target !== lookup() && !found()?.contains(event.target)) return;
  const stops = [lookup(), ...found().querySelectorAll("a")];
  if (stops.length < 2) return;
  event.preventDefault();
  stops[stops.indexOf(event.target) + by]?.focus();
}

const tell = (text) => { document.getElementById("told").textContent = text; };
document.addEventListener("htmx:sendError", () => tell("The server cannot be reached. What you see is as it was; try again."));
document.addEventListener("htmx:timeout", () => tell("The server did not answer in time. Try again."));
document.addEventListener("htmx:responseError", (event) => tell(event.detail.xhr.status === 503
  ? "A long file is being taken just now. Try again in a minute; what you typed is still here."
  : "The server could not do that. Nothing was changed; reload the page."));

// The menu of all pages lies over the page: it closes by Escape, and when somebody goes on elsewhere.
const menu = document.querySelector(".menu");
menu?.addEventListener("keydown", (event) => {
  if (event.key !== "Escape" || !menu.open) return;
  menu.open = false;
  menu.querySelector("summary").focus();
});
for (const kind of ["focusin", "click"]) {
  document.addEventListener(kind, (event) => { if (menu?.open && !menu.contains(event.target)) menu.open = false; });
}

// What was written while the page was still arriving, or was put back by the browser, is news as well: a list, or an
// answer beside a form, is asked for it. (Forms whose address says it all keep the browser from putting anything back.)
function altered(field) {
  if (field.matches("select")) {
    const options = [...field.options];
    const blank = !options.some((option) => option.defaultSelected);
    return !(blank && field.selectedIndex === 0) && options.some((option) => option.selected !== option.defaultSelected);
  }
  return field.matches("[type=checkbox], [type=radio]") ? field.checked !== field.defaultChecked : field.value !== field.defaultValue;
}
document.addEventListener("DOMContentLoaded", () => {
  for (const field of document.querySelectorAll("main form :is(input:not([type=hidden]), select, textarea)")) {
    if (altered(field)) for (const kind of ["input", "change"]) field.dispatchEvent(new Event(kind, { bubbles: true }));
  }
});

// On a phone the list comes first: its filters fold away until somebody asks for them or has used them.
const filters = document.querySelector(".narrowing");
if (filters && !("narrowed" in filters.dataset) && matchMedia("(max-width: 59.99rem)").matches) filters.open = false;

// The folds of a page stand open at a desk and on paper. Where the style sheet can't do that, they are opened here.
const folds = document.querySelectorAll(".fold");
if (folds.length && !CSS.supports("selector(::details-content)")) {
  const unfold = () => { for (const fold of folds) fold.open = true; };
  if (matchMedia("(min-width: 60rem)").matches) unfold();
  addEventListener("beforeprint", unfold);
}
// An address that names a part of the page opens the fold around it.
function show() {
  const part = document.querySelector(":target");
  const fold = part?.closest(".fold:not([open])");
  if (!fold) return;
  fold.open = true;
  part.scrollIntoView();
}
if (folds.length) {
  show();
  addEventListener("hashchange", show);
}
