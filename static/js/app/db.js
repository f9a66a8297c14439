// The phone's own disk: IndexedDB, every write strict, so that a row is on flash before the next step shows.
//
//   outbox   rows not yet on the shop's computer, by counter n     (events, and heartbeats with kind "row")
//   sent     events that the shop acknowledged, by id; kept as the second copy until the job is long closed
//   refused  events that the shop would not take, by id, with its reason
//   jobs     what the shop told us of each job            sheets   by hash
//   photos   {hash, type, bytes, job, sent} (bytes, since private windows of some browsers refuse blobs)
//   files    {name, type, bytes}: safety data sheets of the products in work
//   kv       token, person, counter, last contact …

const NAME = "bayflow";

const STORES = {
  outbox: "n",
  sent: "id",
  refused: "id",
  jobs: "id",
  sheets: "hash",
  photos: "hash",
  files: "name",
  kv: "k",
};

let opening = null;

function open() {
  opening ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => {
      for (const [store, keyPath] of Object.entries(STORES)) request.result.createObjectStore(store, { keyPath });
    };
    request.onsuccess = () => {
      const db = request.result;
      db.onversionchange = () => {
        db.close();
        opening = null;
      };
      db.onclose = () => {
        opening = null;
      };
      resolve(db);
    };
    request.onerror = () => {
      opening = null;
      reject(request.error);
    };
  });
  return opening;
}

/**
 * A request as a promise, for use inside a transaction.
 * @template T
 * @param {IDBRequest<T>} request
 * @returns {Promise<T>}
 */
export const asked = (request) =>
  new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

async function transact(stores, mode, work) {
  const db = await open();
  const tx = db.transaction(stores, mode, mode === "readwrite" ? { durability: "strict" } : undefined);
  const over = new Promise((resolve, reject) => {
    tx.oncomplete = () => resolve();
    tx.onabort = () => reject(tx.error ?? new DOMException("the write was cut off", "AbortError"));
  });
  over.catch(() => {});
  let result;
  try {
    result = await work((name) => tx.objectStore(name));
  } catch (error) {
    try {
      tx.abort();
    } catch {
      // it is over already; `over` says how
    }
    throw error;
  }
  await over;
  return result;
}

/**
 * One strict write over some stores: all of it is on disk when this resolves, or none of it.
 * @param {string[]} stores
 * @param {(store: (name: string) => IDBObjectStore) => any} work may await `asked(…)` only
 */
export const write = (stores, work) => transact(stores, "readwrite", work);

/** Read over some stores. */
export const read = (stores, work) => transact(stores, "readonly", work);

/** All rows of one store. */
export const all = (name) => read([name], (store) => asked(store(name).getAll()));

/** One row of one store, or undefined. */
export const one = (name, key) => read([name], (store) => asked(store(name).get(key)));

/** Put rows into one store. */
export const put = (name, ...rows) =>
  write([name], (store) => {
    for (const row of rows) store(name).put(row);
  });

/** The value kept under `key`, or `fallback`. */
export async function kept(key, fallback = null) {
  const row = await one("kv", key);
  return row === undefined ? fallback : row.v;
}

/** Keep `value` under `key`. */
export const keep = (key, value) => put("kv", { k: key, v: value });
