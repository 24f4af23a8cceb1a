// The app is switched off: this worker removes what the one before it kept, and itself. What is not sent is not its to touch.
"use strict";

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => {
  const clear = caches.keys().then((names) => Promise.all(names.map((it) => caches.delete(it))));
  event.waitUntil(clear.then(() => self.registration.unregister()));
});
