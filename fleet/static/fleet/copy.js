// Takes a whole block of text along: selected at a click into it, and copied by its button.
"use strict";

for (const button of document.querySelectorAll(".copy")) {
  const block = document.getElementById(button.dataset.copies);
  const words = button.textContent;
  button.hidden = false;
  button.addEventListener("click", async () => {
    block.select();
    try {
      await navigator.clipboard.writeText(block.value);
    } catch {
      document.execCommand("copy");  // where the page is not served by https
    }
    button.textContent = "Copied";
    document.getElementById("told").textContent = "Copied.";
    setTimeout(() => { button.textContent = words; document.getElementById("told").textContent = ""; }, 2500);
  });
  block.addEventListener("focus", () => block.select());
}
