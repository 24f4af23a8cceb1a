// A whole address in the street's field is taken apart as the field is left: the other fields are filled, and what was made of it is
// said below, to be read over before it is saved. What was written into them already stays.
"use strict";
for (const street of document.querySelectorAll("[data-parts]")) {
  const other = (name) => street.form.elements[name];

  const said = document.createElement("p");
  said.className = "note";
  said.setAttribute("role", "status");
  street.after(said);

  street.addEventListener("change", async () => {
    const text = street.value.trim();
    said.textContent = "";
    if (!text || other("city").value || other("postcode").value) return;
    let parts;
    try {
      const answer = await fetch(`${street.dataset.parts}?text=${encodeURIComponent(text)}`, { redirect: "error" });
      parts = answer.ok ? await answer.json() : {};
    } catch {
      return;  // without the server the fields are written by hand, or it asks back when the form is saved
    }
    if (!parts.city || street.value.trim() !== text || other("city").value || other("postcode").value) return;
    for (const name of ["street", "city", "region", "postcode"]) {
      if (!parts[name]) continue;
      other(name).value = parts[name];
      other(name).dispatchEvent(new Event("input", { bubbles: true }));
    }
    other("city").closest("details")?.setAttribute("open", "");
    said.textContent = parts.words;
  });
}
