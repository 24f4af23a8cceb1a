// What this browser keeps of its own: drafts of forms, what waits to be sent, photos of either, and what it needs without a signal.
//
// Four places ("drafts", "outbox", "photos", "kept") of items, each with a `key` (text) and a `schema` (whole number) of its own, so
// that a later release knows what an earlier one wrote. A photo or any other file is kept as its bytes, name and type, since
// some browsers lose the files themselves. Every call opens the store, does one thing in one transaction, and closes it, so
// that no tab keeps another from a newer store. What cannot be done is a `Store.Fault`, which says why in words; nothing here
// touches a page, and a service worker may load it as well.
"use strict";

const Store = (() => {
  const NAME = "fleet";
  const VERSION = 2;  // 2: "kept"; a new version only adds places, so what stands in the others stays
  const PLACES = ["drafts", "outbox", "photos", "kept"];
  const PATIENCE = 8_000;  // ms until a store that never answers counts as refused

  const WHY = {
    none: "This browser keeps nothing for this page (a private window does that), so what you type is only on this page until you save it.",
    refused: "This browser would not keep what you type, so it is only on this page until you save it.",
    full: "This device is full, so what you type is only on this page until you save it. Delete something you do not need, such as old videos.",
    newer: "A newer version of this page is open in another tab. Reload this page before you go on.",
  };

  // Why something was not kept: `why` is none, refused, full or newer; the message says it to a person.
  class Fault extends Error {
    constructor(why, cause) {
      super(WHY[why], { cause });
      this.name = "Store.Fault";
      this.why = why;
    }
  }

  function fault(error) {
    if (error instanceof Fault) return error;
    const why = { QuotaExceededError: "full", VersionError: "newer" }[error?.name] ?? "refused";
    return new Fault(why, error);
  }

  function open() {
    return new Promise((resolve, reject) => {
      let request;
      try {
        request = indexedDB.open(NAME, VERSION);
      } catch (error) {  // no such thing here, or not for this page
        reject(new Fault("none", error));
        return;
      }
      let late = false;
      const timer = setTimeout(() => { late = true; reject(new Fault("refused")); }, PATIENCE);
      request.onupgradeneeded = () => {
        for (const place of PLACES) {
          if (!request.result.objectStoreNames.contains(place)) request.result.createObjectStore(place, { keyPath: "key" });
        }
      };
      request.onerror = () => {
        clearTimeout(timer);
        reject(fault(request.error));
      };
      request.onsuccess = () => {
        clearTimeout(timer);
        const base = request.result;
        base.onversionchange = () => base.close();
        if (late) base.close();
        else resolve(base);
      };
    });
  }

  // Run `work` in one transaction over `places`; what the request that it gives brings is the answer, once all of it is written.
  async function within(places, mode, work) {
    const base = await open();
    try {
      // What waits to be sent must outlive a flat battery; a draft may lose its last words to one.
      const durability = places.includes("outbox") ? "strict" : "default";
      const transaction = base.transaction(places, mode, { durability });
      return await new Promise((resolve, reject) => {
        const box = { answer: undefined, error: undefined };
        transaction.oncomplete = () => resolve(box.answer);
        transaction.onabort = () => reject(box.error ?? transaction.error);
        try {
          work((place) => transaction.objectStore(place), box, transaction);
        } catch (error) {
          box.error = error;
          transaction.abort();
        }
      });
    } catch (error) {
      // What the store says is a fault of the store; what a caller did wrong is the caller's to see.
      const ours = error instanceof DOMException && error.name !== "DataCloneError";
      throw ours ? fault(error) : error;
    } finally {
      base.close();
    }
  }

  function sound(item) {
    if (typeof item?.key !== "string" || !item.key) throw new TypeError("An item needs a key that is text.");
    if (!Number.isInteger(item.schema)) throw new TypeError("An item needs a schema, a whole number.");
    return item;
  }

  const starting = (prefix) => (prefix ? IDBKeyRange.bound(prefix, `${prefix}\uffff`) : null);

  // The item under a key, or undefined.
  const get = (place, key) => within([place], "readonly", (of, box) => {
    of(place).get(key).onsuccess = (event) => { box.answer = event.target.result; };
  });

  // Several changes, all of them or none: { put: item, in: place } or { delete: key, in: place }.
  const write = (...changes) => within([...new Set(changes.map((it) => it.in))], "readwrite", (of) => {
    for (const change of changes) {
      if (change.put === undefined) of(change.in).delete(change.delete);
      else of(change.in).put(sound(change.put));
    }
  });

  const put = (place, item) => write({ put: item, in: place });
  const remove = (place, key) => write({ delete: key, in: place });

  // Read one item and write what `decide` makes of it, with nobody between: an item, null (remove it), or undefined (leave it).
  // `decide` answers at once; the answer here is the item that stands afterwards.
  const change = (place, key, decide) => within([place], "readwrite", (of, box, transaction) => {
    of(place).get(key).onsuccess = (event) => {
      const was = event.target.result;
      try {
        const next = decide(was);
        box.answer = next === undefined ? was : next ?? undefined;
        if (next === null) of(place).delete(key);
        else if (next !== undefined) of(place).put(sound(next));
      } catch (error) {
        box.error = error;
        transaction.abort();
      }
    };
  });

  // The keys of a place, in order; of those that begin with `prefix` alone, if one is given.
  const keys = (place, prefix = "") => within([place], "readonly", (of, box) => {
    of(place).getAllKeys(starting(prefix)).onsuccess = (event) => { box.answer = event.target.result; };
  });

  // All items of a place, or of those keys that begin with `prefix`, in one reading: for what is small, never for photos.
  const all = (place, prefix = "") => within([place], "readonly", (of, box) => {
    of(place).getAll(starting(prefix)).onsuccess = (event) => { box.answer = event.target.result; };
  });

  // Hand each item of a place to `visit`, one at a time and each waited for: sixty photos at once would not fit in memory.
  // One that is gone by its turn is passed by; `visit` may write and remove; false from it ends the round.
  async function each(place, visit, prefix = "") {
    for (const key of await keys(place, prefix)) {
      const item = await get(place, key);
      if (item !== undefined && await visit(item) === false) return;
    }
  }

  // A file as it is kept, and back again.
  const bytesOf = async (file) => ({ name: file.name, type: file.type, bytes: await file.arrayBuffer() });
  const fileOf = (kept) => new File([kept.bytes], kept.name, { type: kept.type });

  return Object.freeze({ get, put, delete: remove, write, change, keys, all, each, bytesOf, fileOf, Fault });
})();
