// Scanning: a photo is made small on this device before it is sent; where the browser reads codes itself, the camera looks for one
// and its picture goes the same way. Whatever was read, the server's page shows it beside the picture and asks whether it is right.
"use strict";

(() => {
  const LONG_EDGE = 2200;
  const QUALITY = 0.88;
  const EVERY = 250;
  const KINDS = { code_128: "Code 128", code_39: "Code 39", data_matrix: "Data Matrix", qr_code: "QR code" };

  const form = document.querySelector("form.scan");
  if (!form) return;
  const photo = form.elements.photo;
  const seen = form.elements.seen;
  const live = form.querySelector("[data-live]");
  const told = form.querySelector("[data-told]");
  const video = form.querySelector("video");
  const button = form.querySelector("[data-camera]");

  // ---- a signal

  const signal = () => { form.querySelector("[data-offline]").hidden = navigator.onLine; };
  window.addEventListener("online", signal);
  window.addEventListener("offline", signal);
  signal();

  form.addEventListener("submit", (event) => {
    if (navigator.onLine) return;
    event.preventDefault();
    signal();
    document.getElementById("typed_serial").focus();
  });

  // ---- a photo, made small

  async function drawn(source, width, height) {
    const scale = Math.min(1, LONG_EDGE / Math.max(width, height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.max(1, Math.round(width * scale));
    canvas.height = Math.max(1, Math.round(height * scale));
    canvas.getContext("2d").drawImage(source, 0, 0, canvas.width, canvas.height);
    const blob = await new Promise((resolve) => { canvas.toBlob(resolve, "image/jpeg", QUALITY); });
    return { blob, scale };
  }

  function choose(blob) {
    const files = new DataTransfer();
    files.items.add(new File([blob], "plate.jpg", { type: "image/jpeg" }));
    photo.files = files.files;
  }

  photo.addEventListener("change", async () => {
    const [file] = photo.files;
    seen.value = "";
    if (!file) return;
    try {
      const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
      const { blob } = await drawn(picture, picture.width, picture.height);
      picture.close();
      if (blob?.type === "image/jpeg") choose(blob);
    } catch {
      // This device cannot read it: it goes as it is, and the server says whether it can.
    }
    form.requestSubmit();
  });

  // ---- the camera, where the browser reads codes itself

  const cameras = navigator.mediaDevices;
  if (!("BarcodeDetector" in window) || !cameras?.getUserMedia) return;
  live.hidden = false;
  let stream = null;

  function stop(words) {
    stream?.getTracks().forEach((track) => track.stop());
    stream = null;
    video.hidden = true;
    video.srcObject = null;
    button.textContent = "Use the camera";
    told.textContent = words;
  }

  async function look(detector) {
    if (!stream) return;
    let codes = [];
    try {
      if (video.readyState >= 2) codes = await detector.detect(video);
    } catch {
      // A frame that cannot be read is followed by another.
    }
    codes = codes.filter((code) => code.rawValue?.trim());
    if (!stream || !codes.length) {
      if (stream) setTimeout(look, EVERY, detector);
      return;
    }
    const { blob, scale } = await drawn(video, video.videoWidth, video.videoHeight);
    if (!navigator.onLine || !blob) {
      stop(`Read: ${codes.map((code) => code.rawValue).join(", ")}. There is no signal to look it up; type it in your write-up.`);
      return;
    }
    const whole = ({ x, y, width, height }) => [x, y, x + Math.max(1, width), y + Math.max(1, height)].map((edge) => Math.max(0, Math.round(edge * scale)));
    seen.value = JSON.stringify(codes.map((code) => ({ kind: KINDS[code.format] ?? code.format, text: code.rawValue, box: whole(code.boundingBox) })));
    choose(blob);
    stop("Read. One moment …");
    form.requestSubmit();
  }

  button.addEventListener("click", async () => {
    if (stream) {
      stop("");
      return;
    }
    try {
      const known = await BarcodeDetector.getSupportedFormats();
      const formats = Object.keys(KINDS).filter((kind) => known.includes(kind));
      if (!formats.length) throw new Error("formats");
      stream = await cameras.getUserMedia({ audio: false, video: { facingMode: "environment", width: { ideal: 1920 } } });
      video.srcObject = stream;
      video.hidden = false;
      await video.play();
      button.textContent = "Stop the camera";
      told.textContent = "Hold the code level and close.";
      look(new BarcodeDetector({ formats }));
    } catch {
      stop("The camera cannot be used here. Take a photo instead.");
    }
  });
  window.addEventListener("pagehide", () => stop(""));
})();
