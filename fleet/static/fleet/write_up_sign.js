// The customer signs on the screen, by finger, pen or mouse: strokes of points in a box of 600 by 200, kept as text (rules/signatures.py).
"use strict";

const Signing = (() => {
  const [WIDE, HIGH] = [600, 200];
  const LONGEST = 50_000;
  const NEAR = 2;  // what lies nearer to the last point says nothing more

  const strokesOf = (text) => (text ? text.split(";").map((stroke) => stroke.split(" ").map((point) => point.split(",").map(Number))) : []);
  const textOf = (strokes) => strokes.map((stroke) => stroke.map((point) => point.join(",")).join(" ")).join(";");

  function draw(canvas, strokes) {
    const scale = canvas.width / WIDE;
    const pen = canvas.getContext("2d");
    pen.clearRect(0, 0, canvas.width, canvas.height);
    pen.strokeStyle = getComputedStyle(canvas).color;
    pen.lineWidth = 3 * scale;
    pen.lineCap = pen.lineJoin = "round";
    for (const stroke of strokes) {
      pen.beginPath();
      pen.moveTo(stroke[0][0] * scale, stroke[0][1] * scale);
      for (const [x, y] of stroke) pen.lineTo(x * scale, y * scale);
      pen.stroke();
    }
  }

  function show(form) {
    const canvas = form.querySelector("[data-sign] canvas");
    if (canvas) draw(canvas, strokesOf(form.elements.signature.value));
  }

  function ready(form) {
    const place = form.querySelector("[data-sign]");
    const input = form.elements.signature;
    if (!place || !input || place.childElementCount) return;
    const canvas = Object.assign(document.createElement("canvas"), { width: WIDE * 2, height: HIGH * 2, className: "pad" });
    canvas.setAttribute("role", "img");
    canvas.setAttribute("aria-label", "Where the customer signs with a finger, a pen or the mouse");
    const clear = Object.assign(document.createElement("button"), { type: "button", className: "second", textContent: "Clear the signature" });
    place.append(canvas, clear);
    place.hidden = false;
    let strokes = [];
    let drawn = null;  // the stroke that is being drawn, and by which finger

    const changed = () => {
      input.value = textOf(strokes);
      input.dispatchEvent(new Event("input", { bubbles: true }));
    };
    const pointOf = (event) => {
      const { left, top, width, height } = canvas.getBoundingClientRect();
      const within = (value, most) => Math.min(most, Math.max(0, Math.round(value)));
      return [within(((event.clientX - left) / width) * WIDE, WIDE), within(((event.clientY - top) / height) * HIGH, HIGH)];
    };
    canvas.addEventListener("pointerdown", (event) => {
      if (input.disabled || drawn || event.button > 0 || input.value.length > LONGEST - 1_000) return;
      event.preventDefault();
      canvas.setPointerCapture(event.pointerId);
      strokes = strokesOf(input.value);
      drawn = { stroke: [pointOf(event)], by: event.pointerId };
      strokes.push(drawn.stroke);
      draw(canvas, strokes);
    });
    canvas.addEventListener("pointermove", (event) => {
      if (drawn?.by !== event.pointerId) return;
      // Between two frames a finger was at several points; where the browser keeps none of them, it is the event's own.
      const between = event.getCoalescedEvents?.() ?? [];
      for (const one of between.length ? between : [event]) {
        const [x, y] = pointOf(one);
        const [lastX, lastY] = drawn.stroke.at(-1);
        const full = drawn.stroke.length * 8 + input.value.length > LONGEST - 1_000;
        if (!full && Math.hypot(x - lastX, y - lastY) >= NEAR) drawn.stroke.push([x, y]);
      }
      draw(canvas, strokes);
    });
    const end = (event) => {
      if (drawn?.by !== event.pointerId) return;
      drawn = null;
      changed();
    };
    canvas.addEventListener("pointerup", end);
    canvas.addEventListener("pointercancel", end);
    clear.addEventListener("click", () => {
      if (input.disabled) return;
      strokes = [];
      draw(canvas, strokes);
      changed();
    });
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => show(form));
    show(form);
  }

  for (const form of document.querySelectorAll("form.write_up")) ready(form);
  return Object.freeze({ ready, show });
})();
