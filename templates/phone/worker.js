{% load static %}// The app for no signal. It answers only GETs, of one page that says nothing of anybody and of the files that page needs; whatever
// else is asked goes to the server. It never touches what is sent. A new release waits until somebody wants it.
"use strict";

const RELEASE = "phone-{{ release }}";
const PAGE = "{% url "phone" %}";
const FILES = [{% for name in files %}"{% static name %}"{% if not forloop.last %}, {% endif %}{% endfor %}];
// These can be shown from the store, so nobody waits long for a poor signal there.
const KEPT = /^\/(todays-stops|sites\/\d+\/write-up)$/;
const PATIENCE = 5000;

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(RELEASE).then((cache) => cache.addAll([PAGE, ...FILES].map((it) => new Request(it, { cache: "reload" })))));
});

self.addEventListener("activate", (event) => {
  const clear = caches.keys().then((names) => Promise.all(names.filter((it) => it !== RELEASE).map((it) => caches.delete(it))));
  event.waitUntil(clear.then(() => self.clients.claim()));
});

self.addEventListener("message", (event) => { if (event.data === "skip") self.skipWaiting(); });

const fromCache = async (address) => (await caches.open(RELEASE)).match(address);

async function page(request, path) {
  const asked = fetch(request);
  if (!KEPT.test(path)) return asked.catch(() => fromCache(PAGE));
  const late = new Promise((resolve) => { setTimeout(resolve, PATIENCE); }).then(() => fromCache(PAGE));
  return Promise.race([asked, late]).catch(() => fromCache(PAGE));
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (request.method !== "GET" || origin !== self.location.origin || request.headers.has("HX-Request")) return;
  if (FILES.includes(pathname)) event.respondWith(fromCache(pathname).then((kept) => kept ?? fetch(request)));
  else if (request.mode !== "navigate") return;
  else if (pathname === PAGE) event.respondWith(fromCache(PAGE).then((kept) => kept ?? fetch(request)));
  else event.respondWith(page(request, pathname).then((answer) => answer ?? Response.error()));
});
