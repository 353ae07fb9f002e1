/**
 * Runs in the page: opens what the app sealed, with the keys that this browser still holds. Past the app's own code.
 * As text, because it is put into pages by two test tools.
 */
export const OPENER = `async () => {
  const wait = (request) => new Promise((done, fail) => {
    request.onsuccess = () => done(request.result);
    request.onerror = () => fail(request.error);
  });
  const keys = new Map();
  const prefix = 'utterlog-keys-';
  const buckets = navigator.storageBuckets;
  const names = buckets ? await buckets.keys() : (await indexedDB.databases()).map(({ name }) => name);
  for (const name of names.filter((name) => name.startsWith(prefix))) {
    const factory = buckets ? (await buckets.open(name)).indexedDB : indexedDB;
    const database = await wait(factory.open(buckets ? 'keys' : name));
    if (database.objectStoreNames.contains('kept')) {
      const kept = await wait(database.transaction('kept').objectStore('kept').getAll());
      for (const { recordId, key } of kept.filter((one) => one.key)) keys.set(recordId, key);
    }
    database.close();
  }
  return async (value) => {
    if (!value?.sealed) return value;
    const { iv, data } = value.sealed;
    const plain = await crypto.subtle.decrypt({ name: 'AES-GCM', iv }, keys.get(value.recordId), data);
    return JSON.parse(new TextDecoder().decode(plain));
  };
}`;
