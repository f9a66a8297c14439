// On a phone that is paired with this shop, the card page offers to open the car in the app.

const paired = () => new Promise((resolve) => {
  const asking = indexedDB.open("bayflow");
  asking.onupgradeneeded = () => asking.transaction.abort(); // never paired: leave no empty database behind
  asking.onerror = () => resolve(false);
  asking.onsuccess = () => {
    const db = asking.result;
    const done = (answer) => {
      db.close();
      resolve(answer);
    };
    try {
      const kept = db.transaction("kv").objectStore("kv").get("token");
      kept.onsuccess = () => done(Boolean(kept.result?.v));
      kept.onerror = () => done(false);
    } catch {
      done(false);
    }
  };
});

if (await paired()) document.getElementById("in-app").hidden = false;
