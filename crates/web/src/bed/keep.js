/* What the phone keeps: entries, in the order in which they were made, and the last list. */

const BASE = "bed";

let opened;

function base() {
  opened = opened || new Promise((done, failed) => {
    const asked = indexedDB.open(BASE, 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("entries", { keyPath: "n", autoIncrement: true });
      asked.result.createObjectStore("kept");
    };
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
  return opened;
}

/* Does something to a store, whole or not at all; resolves once it is on the disk. */
async function within(store, mode, change) {
  const its = (await base()).transaction(store, mode, { durability: "strict" });
  const answer = change(its.objectStore(store));
  await new Promise((done, failed) => {
    its.oncomplete = done;
    its.onerror = () => failed(its.error);
    its.onabort = () => failed(its.error);
  });
  return answer && answer.result;
}

/* All entries, the first made first. */
export const entries = () => within("entries", "readonly", (store) => store.getAll());

/* The first entries that wait, noted as tried: from now on the office may know of them, whatever is heard. */
export function to_send(most) {
  const found = [];
  return within("entries", "readwrite", (store) => {
    store.openCursor().onsuccess = (event) => {
      const at = event.target.result;
      if (!at || found.length === most) { return; }
      if (at.value.state === "waiting") {
        found.push({ ...at.value, tried: true });
        at.update(found[found.length - 1]);
      }
      at.continue();
    };
  }).then(() => found);
}

/* Takes an entry back that was never tried to be sent; gives whether it could. */
export function take_back(n) {
  let could = false;
  return within("entries", "readwrite", (store) => {
    store.get(n).onsuccess = (event) => {
      const entry = event.target.result;
      could = entry.state === "waiting" && !entry.tried;
      if (could) { store.put({ ...entry, state: "undone" }); }
    };
  }).then(() => could);
}

/* Adds entries; all of them, or none. */
export const add = (made) => within("entries", "readwrite", (store) => made.forEach((it) => store.add(it)));

/* Puts changed entries in their places. */
export const change = (changed) => within("entries", "readwrite", (store) => changed.forEach((it) => store.put(it)));

/* Forgets entries of these numbers. */
export const forget = (numbers) => within("entries", "readwrite", (store) => numbers.forEach((n) => store.delete(n)));

export const kept = (name) => within("kept", "readonly", (store) => store.get(name));

export const keep = (name, what) => within("kept", "readwrite", (store) => { store.put(what, name); });
