import type { Kept } from "./types.ts";

/** Where entries wait until the server has them. */
export interface Keeper {
  all(): Promise<Kept[]>;
  put(kept: Kept): Promise<void>;
  drop(id: string): Promise<void>;
  /** Whether they outlive this page. */
  lasts: boolean;
}

const STORE = "entries";

function inMemory(): Keeper {
  const kept = new Map<string, Kept>();
  return {
    all: async () => [...kept.values()],
    put: async (each) => void kept.set(each.id, each),
    drop: async (id) => void kept.delete(id),
    lasts: false,
  };
}

const done = <T>(request: IDBRequest<T>): Promise<T> =>
  new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

/** A change is made when its transaction is over, not before. */
const committed = (transaction: IDBTransaction): Promise<void> =>
  new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve();
    transaction.onabort = () => reject(transaction.error);
    transaction.onerror = () => reject(transaction.error);
  });

/** The browser's own store; a page's memory where the browser has none to give. */
export async function openKeeper(name = "rouse-run-book"): Promise<Keeper> {
  let base: IDBDatabase;
  try {
    const request = indexedDB.open(name, 1);
    request.onupgradeneeded = () => request.result.createObjectStore(STORE, { keyPath: "id" });
    base = await done(request);
  } catch {
    return inMemory();
  }
  const changing = (what: (store: IDBObjectStore) => void): Promise<void> => {
    const transaction = base.transaction(STORE, "readwrite", { durability: "strict" });
    what(transaction.objectStore(STORE));
    return committed(transaction);
  };
  return {
    all: () => done<Kept[]>(base.transaction(STORE).objectStore(STORE).getAll()),
    put: (each) => changing((store) => store.put(each)),
    drop: (id) => changing((store) => store.delete(id)),
    lasts: true,
  };
}
