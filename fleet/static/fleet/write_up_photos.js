// The photos of a write-up: made small on this device, chosen at what they show, and listed there.
"use strict";

const Photos = (() => {
  const LONG_EDGE = 2000;
  const QUALITY = 0.85;

  async function shrunk(file) {
    let picture;
    try {
      picture = await createImageBitmap(file, { imageOrientation: "from-image" });
    } catch {
      throw new Error(`${file.name} cannot be read on this device, so it was not added. Set the camera to JPEG (“most compatible”) and take it again.`);
    }
    const scale = Math.min(1, LONG_EDGE / Math.max(picture.width, picture.height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.max(1, Math.round(picture.width * scale));
    canvas.height = Math.max(1, Math.round(picture.height * scale));
    const pen = canvas.getContext("2d");
    pen.fillStyle = "#fff";
    pen.fillRect(0, 0, canvas.width, canvas.height);
    pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
    picture.close();
    const blob = await new Promise((resolve) => { canvas.toBlob(resolve, "image/jpeg", QUALITY); });
    if (blob?.type !== "image/jpeg") throw new Error(`${file.name} could not be made a JPEG on this device, so it was not added.`);
    const bytes = await blob.arrayBuffer();
    const folded = await crypto.subtle.digest("SHA-256", bytes);
    const digest = [...new Uint8Array(folded)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    return { name: `${file.name.replace(/\.[^.]*$/, "") || "photo"}.jpg`, type: "image/jpeg", bytes, digest };
  }

  // What a photo shows: by where its field stands.
  function shownBy(input) {
    const unit = input.closest('fieldset[id^="unit-"]')?.id.slice(5);
    const row = input.closest("#failed fieldset.row");
    if (row) return { failure: [...row.parentElement.querySelectorAll("fieldset.row")].indexOf(row) };
    return unit ? { unit: Number(unit) } : {};
  }

  // A field for the photos of each unit and of each part that failed.
  function fields(form) {
    const places = [...form.querySelectorAll('fieldset[id^="unit-"]')].map((unit) => [unit, unit.querySelector("legend")?.firstChild?.textContent.trim()]);
    const rows = () => [...form.querySelectorAll("#failed fieldset.row")].map((row) => [row, row.querySelector("legend")?.textContent]);
    const add = ([place, name]) => {
      if (place.querySelector(".own_photos")) return;
      const label = document.createElement("label");
      label.className = "own_photos note";
      const input = Object.assign(document.createElement("input"), { type: "file", multiple: true, accept: "image/*" });
      label.append(`Photos of ${name} `, input);
      const list = Object.assign(document.createElement("ul"), { className: "photos_chosen plainlist" });
      (place.querySelector("details.line") ?? place).append(label, list);
    };
    [...places, ...rows()].forEach(add);
    const failed = form.querySelector("#failed");
    if (failed) new MutationObserver(() => rows().forEach(([row, name]) => {
      const label = row.querySelector(".own_photos");
      // A row made from the one before it brings that one's field along, with nothing in it.
      if (label && label.firstChild.textContent !== `Photos of ${name} `) {
        label.firstChild.textContent = `Photos of ${name} `;
        row.querySelector(".photos_chosen").replaceChildren();
      } else add([row, name]);
    })).observe(failed, { childList: true });
    const whole = form.elements.photos;
    if (whole) {
      whole.accept = "image/*";
      whole.after(Object.assign(document.createElement("ul"), { className: "photos_chosen plainlist" }));
    }
  }

  // What was chosen stands at the field of what it shows, else with the photos of the whole visit.
  function show(form, photos, remove) {
    for (const list of form.querySelectorAll(".photos_chosen")) list.replaceChildren();
    for (const photo of photos) {
      const { unit, failure } = photo.of;
      const place = unit !== undefined ? form.querySelector(`#unit-${unit}`)
        : failure !== undefined ? form.querySelectorAll("#failed fieldset.row")[failure] : null;
      const list = place?.querySelector(".photos_chosen") ?? form.elements.photos?.parentElement.querySelector(".photos_chosen");
      if (!list) continue;
      const line = document.createElement("li");
      line.append(`${photo.name} (${Outbox.sizeOf(photo.size)}) `);
      if (remove) line.append(remove(photo));
      list.append(line);
    }
  }

  return Object.freeze({ shrunk, shownBy, fields, show });
})();
