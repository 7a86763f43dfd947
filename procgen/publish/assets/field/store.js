/* Where the record lives on this phone. Entries are only ever added or replaced by a later state of themselves;
   nothing is deleted, what cannot be read is put aside. One database a guide, one record an edition. */
(function () {
  "use strict";
  var data = window.procgenGuide;
  if (!data) return;
  var pg = window.procgen = window.procgen || {};
  var root = document.documentElement;
  var guide = data.guide;
  var edition = root.getAttribute("data-edition") || "";
  var name = "procgen:" + guide;
  var KNOWN = {
    tick: ["step", "print"], untick: ["step"], confirm: ["hold", "print", "name"], unconfirm: ["hold"],
    reading: ["reading", "typed", "unit", "si"], draft: ["of"], remark: ["text"], start: ["timer"], run: ["timer", "start", "state"],
    stop: ["timer", "start"], clock: ["start", "delta"], photo: ["name", "data"], signature: ["name", "data"],
    person: ["name"], carry: ["from"], received: ["from"], remove: ["ref"]
  };
  var store = pg.store = {
    guide: guide, edition: edition, name: name,
    /* tier: "database", "small" (localStorage) or "memory"; persisted: may the browser clear it by itself? */
    state: { ready: false, tier: "", persisted: null, unsaved: 0, aside: 0, why: "" }
  };
  var entries = new Map();
  var unsaved = new Map();
  var aside = [];
  var head = null;
  var backend = null;
  var channel = null;
  var top = 0;

  /* ---------- three places to keep rows, the best first ---------- */

  function asked(request) {
    return new Promise(function (resolve, reject) {
      request.onsuccess = function () { resolve(request.result); };
      request.onerror = function () { reject(request.error || new Error("storage")); };
    });
  }

  function done(transaction) {
    return new Promise(function (resolve, reject) {
      transaction.oncomplete = function () { resolve(); };
      transaction.onabort = transaction.onerror = function () { reject(transaction.error || new Error("storage")); };
    });
  }

  function database() {
    return new Promise(function (resolve, reject) {
      var late = window.setTimeout(function () { reject(new Error("timeout")); }, 4000);
      var request = indexedDB.open(name);
      request.onupgradeneeded = function () {
        request.result.createObjectStore("rows", { keyPath: ["edition", "id"] });
        request.result.createObjectStore("heads", { keyPath: "edition" });
        request.result.createObjectStore("aside", { autoIncrement: true });
      };
      request.onblocked = function () { reject(new Error("blocked")); };
      request.onerror = function () { window.clearTimeout(late); reject(request.error); };
      request.onsuccess = function () {
        window.clearTimeout(late);
        var db = request.result;
        db.onversionchange = function () { db.close(); };
        resolve(db);
      };
    }).then(function (db) {
      function range(of) { return IDBKeyRange.bound([of, ""], [of, "\uffff"]); }
      return {
        tier: "database",
        rows: function (of) { return asked(db.transaction("rows").objectStore("rows").getAll(range(of))); },
        heads: function () { return asked(db.transaction("heads").objectStore("heads").getAll()); },
        aside: function () { return asked(db.transaction("aside").objectStore("aside").getAll()); },
        write: function (rows, heads, bad) {
          var t = db.transaction(["rows", "heads", "aside"], "readwrite");
          var end = done(t);
          rows.forEach(function (row) { t.objectStore("rows").put(row); });
          heads.forEach(function (one) { t.objectStore("heads").put(one); });
          (bad || []).forEach(function (one) {
            t.objectStore("aside").add({ at: Date.now(), row: one });
            if (one && one.edition !== undefined && one.id !== undefined) t.objectStore("rows").delete([one.edition, one.id]);
          });
          return end;
        },
        /* All rows of one record become those of another; what stood there goes. */
        move: function (from, to) {
          var t = db.transaction(["rows", "heads"], "readwrite");
          var end = done(t);
          var rows = t.objectStore("rows");
          rows.delete(range(to));
          rows.getAll(range(from)).onsuccess = function (event) {
            event.target.result.forEach(function (row) { rows.put(Object.assign({}, row, { edition: to })); });
            rows.delete(range(from));
          };
          return end;
        }
      };
    }).then(function (made) {
      /* A write that fails now would fail at the first tick: find out before. */
      return made.write([], [{ edition: "probe:", probe: true }]).then(function () { return made; });
    });
  }

  function small() {
    var key = name + ":small";
    function read() {
      var text = localStorage.getItem(key);
      if (!text) return { rows: [], heads: [], aside: [] };
      try {
        var found = JSON.parse(text);
        if (found && Array.isArray(found.rows) && Array.isArray(found.heads)) return found;
      } catch (error) { /* kept below under another key */ }
      localStorage.setItem(key + ":aside", text);
      return { rows: [], heads: [], aside: [{ row: text }] };
    }
    function keep(all) { localStorage.setItem(key, JSON.stringify(all)); }
    localStorage.setItem(key + ":probe", "1");
    localStorage.removeItem(key + ":probe");
    function put(list, one, same) {
      var at = list.findIndex(same);
      if (at < 0) list.push(one); else list[at] = one;
    }
    return {
      tier: "small",
      rows: function (of) { return Promise.resolve(read().rows.filter(function (row) { return row.edition === of; })); },
      heads: function () { return Promise.resolve(read().heads); },
      aside: function () { return Promise.resolve(read().aside || []); },
      write: function (rows, heads, bad) {
        var all = read();
        rows.forEach(function (row) {
          put(all.rows, row, function (o) { return o.edition === row.edition && o.id === row.id; });
        });
        heads.forEach(function (one) { put(all.heads, one, function (o) { return o.edition === one.edition; }); });
        all.aside = (all.aside || []).concat((bad || []).map(function (row) { return { row: row }; }));
        try { keep(all); } catch (error) { return Promise.reject(error); }
        return Promise.resolve();
      },
      move: function (from, to) {
        var all = read();
        all.rows = all.rows.filter(function (row) { return row.edition !== to; });
        all.rows.forEach(function (row) { if (row.edition === from) row.edition = to; });
        keep(all);
        return Promise.resolve();
      }
    };
  }

  function memory() {
    var none = function () { return Promise.resolve([]); };
    return {
      tier: "memory", rows: none, heads: none, aside: none,
      write: function () { return Promise.resolve(); }, move: function () { return Promise.resolve(); }
    };
  }

  /* ---------- rows that can be read, and those that cannot ---------- */

  store.sound = function (entry) {
    if (!entry || typeof entry !== "object" || typeof entry.id !== "string" || !entry.id) return false;
    if (typeof entry.kind !== "string" || typeof entry.time !== "string" || isNaN(Date.parse(entry.time))) return false;
    if (typeof entry.seq !== "number" || !isFinite(entry.seq)) return false;
    /* A kind that only a later version knows is kept and passed over. */
    return (KNOWN[entry.kind] || []).every(function (field) { return entry[field] !== undefined; });
  };

  function take(rows) {
    var bad = [];
    rows.forEach(function (row) {
      if (row && store.sound(row.entry) && row.id === row.entry.id) adopt(row.entry);
      else bad.push(row);
    });
    return bad;
  }

  /* Of two states of one entry the later by count stands: clocks of phones differ, counts do not go back. */
  function adopt(entry) {
    var old = entries.get(entry.id);
    if (entry.seq > top) top = entry.seq;
    if (old && old.seq >= entry.seq) return false;
    entries.set(entry.id, entry);
    return true;
  }

  function row(entry, of) { return { edition: of || edition, id: entry.id, entry: entry }; }

  /* ---------- opening ---------- */

  function device() {
    try {
      var known = localStorage.getItem("procgen:device");
      if (known) return known;
      known = random();
      localStorage.setItem("procgen:device", known);
      return known;
    } catch (error) { return random(); }
  }

  function random() {
    var bytes = new Uint8Array(8);
    crypto.getRandomValues(bytes);
    return Array.prototype.map.call(bytes, function (byte) { return (byte + 256).toString(16).slice(1); }).join("");
  }

  store.device = device();

  function choose() {
    return Promise.resolve().then(database).catch(function (error) {
      store.state.why = String(error && error.name || error);
      return small();
    }).catch(memory);
  }

  /* The phone's own name stands beside the record: what localStorage holds may be seconds behind at a kill. */
  function named(heads) {
    var known = heads.filter(function (one) { return one.edition === "device:"; })[0];
    if (known && known.device) { store.device = known.device; return Promise.resolve(); }
    return backend.write([], [{ edition: "device:", device: store.device }]).catch(function () { /* named anew next time */ });
  }

  function load() {
    return backend.rows(edition).then(function (rows) {
      var bad = take(rows);
      if (!bad.length) return null;
      return backend.write([], [], bad);
    }).catch(function (error) { store.state.why = String(error && error.name || error); }).then(function () {
      return backend.aside();
    }).then(function (kept) {
      aside = kept.map(function (one) { return one.row; });
      store.state.aside = aside.length;
    }).catch(function () { /* the record itself is what matters */ });
  }

  function start() {
    return choose().then(function (chosen) {
      backend = chosen;
      store.state.tier = backend.tier;
      return backend.heads();
    }).catch(function () { return []; }).then(function (heads) {
      return named(heads).then(function () { return heads; });
    }).then(function (heads) {
      head = heads.filter(function (one) { return one.edition === edition; })[0] ||
        { edition: edition, guide: guide, title: data.title, started: null, carried: {} };
      head.carried = head.carried || {};
      return load().then(function () { return carry(heads); });
    }).then(function () {
      if (navigator.storage && navigator.storage.persisted && backend.tier === "database") {
        return navigator.storage.persisted().then(function (yes) { store.state.persisted = yes; }, function () {});
      }
      return null;
    }).then(function () {
      store.state.ready = true;
      listen();
      emit({ opened: true });
      return store;
    });
  }

  /* Work of another edition of this guide comes along; whether a tick still stands, its fingerprint says. */
  function carry(heads) {
    var others = heads.filter(function (one) {
      return one.guide === guide && one.edition !== edition && !one.cleared && (one.top || 0) > (head.carried[one.edition] || 0);
    });
    return others.reduce(function (before, one) {
      return before.then(function () { return backend.rows(one.edition); }).then(function (rows) {
        var found = rows.map(function (r) { return r && r.entry; }).filter(store.sound)
          .filter(function (entry) { return entry.kind !== "carry"; });
        var fresh = found.filter(adopt);
        head.carried[one.edition] = one.top;
        if (!fresh.length) return backend.write([], [head]);
        var note = make({ kind: "carry", id: "carry:" + one.edition + ":" + one.top, from: one.edition, entries: fresh.length, dropped: store.dropped(fresh) });
        adopt(note);
        head.started = head.started || note.time;
        head.top = top;
        return backend.write(fresh.concat([note]).map(function (entry) { return row(entry); }), [head]);
      }).catch(function () { /* it stays where it is and is tried again at the next opening */ });
    }, Promise.resolve());
  }

  /* Steps and holds among entries whose tick or confirmation belongs to another text. */
  store.dropped = function (list) {
    var last = {};
    list.slice().sort(store.order).forEach(function (entry) {
      if (entry.kind === "tick" || entry.kind === "confirm") last[entry.step || entry.hold] = entry;
      if (entry.kind === "untick" || entry.kind === "unconfirm") delete last[entry.step || entry.hold];
    });
    return Object.keys(last).filter(function (id) {
      return !data.items[id] || data.items[id].print !== last[id].print;
    });
  };

  store.order = function (a, b) { return a.seq - b.seq || (a.id < b.id ? -1 : 1); };

  /* ---------- writing ---------- */

  function make(fields) {
    top += 1;
    return Object.assign({
      id: Date.now().toString(36) + "-" + random(), kind: "", time: pg.ui.stamp(), seq: top, device: store.device, edition: edition
    }, fields);
  }

  function emit(detail) { window.dispatchEvent(new CustomEvent("procgen:changed", { detail: detail || {} })); }

  function announce(what) {
    if (channel) channel.postMessage(what);
    try { localStorage.setItem(name + ":ping", Date.now() + ":" + random()); } catch (error) { /* only a hint to other tabs */ }
  }

  /* Keep an entry. What is seen changes at once; the promise says whether it is safe. */
  store.put = function (fields) {
    return store.ready.then(function () {
      var old = fields.id && entries.get(fields.id);
      var entry = make(fields);
      if (old) { entry.changed = entry.time; entry.time = old.time; }
      entries.set(entry.id, entry);
      head.started = head.started || entry.time;
      head.top = top;
      unsaved.set(entry.id, entry);
      emit({ id: entry.id });
      return flush().then(function () { return entry; });
    });
  };

  function flush() {
    var going = Array.from(unsaved.values());
    var rows = going.map(function (entry) { return row(entry); });
    return Promise.resolve().then(function () { return backend.write(rows, [head]); }).catch(function (error) {
      /* A phone may drop the connection while the page sleeps: open it again and try once more. */
      if (backend.tier !== "database") throw error;
      return database().then(function (made) { backend = made; return backend.write(rows, [head]); });
    }).then(function () {
      going.forEach(function (entry) { if (unsaved.get(entry.id) === entry) unsaved.delete(entry.id); });
      if (backend.tier !== "memory") announce({ put: true });
      settle("");
      ask();
    }, function (error) {
      settle(String(error && error.name || error));
    });
  }

  function settle(why) {
    var before = store.state.unsaved;
    store.state.unsaved = unsaved.size;
    store.state.why = why || (unsaved.size ? store.state.why : "");
    if (before !== unsaved.size) emit({ state: true });
  }

  var wanted = false;
  function ask() {
    if (wanted || store.state.persisted !== false || !navigator.storage || !navigator.storage.persist) return;
    wanted = true;
    navigator.storage.persist().then(function (yes) { store.state.persisted = yes; emit({ state: true }); }, function () {});
  }

  /* Entries from elsewhere, as they are: the later state of each stands. Gives those that were new or later. */
  store.merge = function (list) {
    return store.ready.then(function () {
      var fresh = list.filter(adopt);
      head.started = head.started || (fresh[0] && fresh[0].time) || null;
      head.top = top;
      fresh.forEach(function (entry) { unsaved.set(entry.id, entry); });
      emit({ merged: true });
      return flush().then(function () { return fresh; });
    });
  };

  store.setAside = function (list) {
    if (!list.length) return Promise.resolve();
    var rows = list.map(function (one) { return { entry: one }; });
    aside = aside.concat(rows);
    store.state.aside = aside.length;
    return backend.write([], [], rows).catch(function () { /* it is still in the file it came in */ });
  };

  /* How many entries are on their way to the storage, or could not get there. */
  store.pending = function () { return unsaved.size; };

  store.all = function () { return Array.from(entries.values()).sort(store.order); };
  store.get = function (id) { return entries.get(id); };
  store.asideRows = function () { return aside.slice(); };
  store.head = function () { return Object.assign({}, head); };

  /* What other editions of this guide have here: [{edition, entries, top}], own included. Never thrown away. */
  store.records = function () {
    return store.ready.then(function () { return backend.heads(); }).then(function (heads) {
      return heads.filter(function (one) { return one.guide === guide && !one.cleared; });
    });
  };

  /* Clearing puts the record out of the way; until the next clearing it can be brought back. */
  store.clear = function () {
    return store.ready.then(function () { return flush(); }).then(function () {
      var kept = Object.assign({}, head, { edition: "cleared:" + edition, cleared: true });
      var fresh = { edition: edition, guide: guide, title: data.title, started: null, carried: head.carried, top: top, hasCleared: true };
      return backend.move(edition, "cleared:" + edition).then(function () {
        return backend.write([], [kept, fresh]);
      }).then(function () {
        store.cleared = entries;
        entries = new Map();
        unsaved.clear();
        head = fresh;
        announce({ cleared: true });
        emit({ cleared: true });
      });
    });
  };

  store.canUndo = function () { return Boolean(head && head.hasCleared); };

  store.undo = function () {
    var now = store.all();
    return backend.rows("cleared:" + edition).then(function (rows) {
      take(rows);
      if (store.cleared) store.cleared.forEach(adopt);
      delete head.hasCleared;
      head.top = top;
      return backend.write(Array.from(entries.values()).map(function (entry) { return row(entry); }), [head]);
    }).then(function () {
      announce({ put: true });
      emit({ undone: true, kept: now.length });
    });
  };

  /* ---------- other tabs ---------- */

  function again(cleared) {
    return backend.heads().then(function (heads) {
      var found = heads.filter(function (one) { return one.edition === edition; })[0];
      if (!found) return null;
      if (cleared || (found.hasCleared && !head.hasCleared)) { entries = new Map(); }
      head = found;
      head.carried = head.carried || {};
      return load();
    }).then(function () { emit({ other: true }); }).catch(function () { /* the next sign of life tries again */ });
  }

  function listen() {
    if (backend.tier === "memory") return;
    if ("BroadcastChannel" in window) {
      try {
        channel = new BroadcastChannel(name + ":" + edition);
        channel.onmessage = function (event) { again(event.data && event.data.cleared); };
      } catch (error) { channel = null; }
    }
    window.addEventListener("storage", function (event) { if (event.key === name + ":ping") again(false); });
    window.addEventListener("pageshow", function (event) { if (event.persisted) again(false); });
    document.addEventListener("visibilitychange", function () { if (!document.hidden) again(false); });
  }

  store.open = function () { return store.ready; };
  store.ready = start();
})();
