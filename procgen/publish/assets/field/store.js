/* Where the record lives on this phone. Entries are only ever added or replaced by a later state of themselves;
   nothing is deleted, what cannot be read is put aside. One database a guide, one record an edition. */
procgen.part(function (data, pg) {
  "use strict";
  var root = document.documentElement;
  var guide = data.guide;
  var edition = root.getAttribute("data-edition") || "";
  var name = "procgen:" + guide;
  var places = pg.places;
  var store = pg.store = {
    guide: guide, edition: edition, name: name, sound: places.sound,
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

  /* ---------- rows ---------- */

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
    if (unsaved.has(entry.id) && unsaved.get(entry.id).seq < entry.seq) unsaved.delete(entry.id);
    return true;
  }

  function row(entry) { return places.row(entry, edition); }

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
    return Promise.resolve().then(places.database).catch(function (error) {
      store.state.why = String(error && error.name || error);
      return places.small();
    }).catch(places.memory);
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

  /* What pages left on its way goes into the record it belongs to, before that is read. What cannot go there stays
     where it is; of the own record it is shown all the same and tried again with the next entry. */
  function recover() {
    var owed = Object.create(null);
    var left = pg.ahead.left();
    if (backend.tier === "database") { try { left = left.concat(places.small().left()); } catch (error) { /* none there */ } }
    /* How far the database has counted cannot be asked now: what is added here comes after all of it. */
    if (backend.tier === "small") top = Math.floor(Date.now() / 1000);
    var bad = left.filter(function (one) {
      if (!one.row || typeof one.row.edition !== "string" || !store.sound(one.row.entry)) return true;
      (owed[one.row.edition] = owed[one.row.edition] || []).push(one);
      return false;
    });
    var list = function (of) { return owed[of].map(function (one) { return one.row.entry; }).sort(store.order); };
    var dropped = function (all) { all.forEach(function (one) { one.drop(); }); };
    var aside = function () { return backend.write([], [], bad.map(function (one) { return { entry: one.row }; })); };
    return Object.keys(owed).reduce(function (before, of) {
      return before.then(function () { return backend.join(of, list(of)); }).then(function () { dropped(owed[of]); }, function () {
        if (of === edition) list(of).forEach(function (entry) { unsaved.set(entry.id, entry); });
      });
    }, Promise.resolve()).then(function () {
      return bad.length && aside().then(function () { dropped(bad); });
    }).catch(function () { /* still there at the next opening */ });
  }

  function start() {
    return choose().then(function (chosen) {
      backend = chosen;
      store.state.tier = backend.tier;
      return recover();
    }).then(function () {
      return backend.heads();
    }).catch(function () { return []; }).then(function (heads) {
      return named(heads).then(function () { return heads; });
    }).then(function (heads) {
      head = heads.filter(function (one) { return one.edition === edition; })[0] ||
        { edition: edition, guide: guide, title: data.title, started: null, carried: {} };
      head.carried = head.carried || {};
      top = Math.max(top, head.top || 0);
      return load().then(function () { return carry(heads); });
    }).then(function () {
      unsaved.forEach(function (entry) { if (!adopt(entry)) unsaved.delete(entry.id); });
      if (unsaved.size) flush();
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
        return backend.write(fresh.concat([note]).map(row), [head]);
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

  store.id = function () { return Date.now().toString(36) + "-" + random(); };

  function make(fields) {
    top += 1;
    return Object.assign({
      id: store.id(), kind: "", time: pg.ui.stamp(), seq: top, device: store.device, edition: edition
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
      var before = unsaved.get(entry.id);
      if (backend.tier === "database" && pg.ahead.keep(row(entry)) && before) pg.ahead.forget(row(before));
      unsaved.set(entry.id, entry);
      emit({ id: entry.id });
      return flush().then(function () { return entry; });
    });
  };

  function flush() {
    var going = Array.from(unsaved.values());
    function write(list) {
      return Promise.resolve().then(function () {
        return backend.write(list.map(row), [head]);
      }).then(function () {
        list.forEach(function (entry) {
          pg.ahead.forget(row(entry));
          if (unsaved.get(entry.id) === entry) unsaved.delete(entry.id);
        });
      });
    }
    var late = window.setTimeout(function () { settle("timeout"); }, places.late);
    return write(going).catch(function (error) {
      /* A phone may drop the connection while the page sleeps: open it again and try once more. */
      if (backend.tier !== "database") throw error;
      return places.database().then(function (made) { backend = made; return write(going); });
    }).catch(function (error) {
      /* A picture that finds no room does not keep the ticks out. */
      if (going.length < 2) throw error;
      return Promise.all(going.map(function (entry) { return write([entry]).catch(function (why) { error = why; }); }))
        .then(function () { if (unsaved.size) throw error; });
    }).then(function () {
      settle("");
      ask();
    }, function (error) {
      settle(String(error && error.name || error));
    }).then(function () {
      window.clearTimeout(late);
      if (backend.tier !== "memory") announce({ put: true });
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
      return backend.move(edition, "cleared:" + edition, [kept, fresh]).then(function () {
        pg.ahead.left().forEach(function (one) { if (one.row && one.row.edition === edition) one.drop(); });
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
      return backend.write(Array.from(entries.values()).map(row), [head]);
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
      if (cleared || (found.hasCleared && !head.hasCleared)) entries = new Map(unsaved);
      head = found;
      head.carried = head.carried || {};
      top = Math.max(top, head.top || 0);
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
  /* Nothing can be entered before it can be kept. */
  function shut(yes) { document.querySelectorAll("[data-field]").forEach(function (room) { room.inert = yes; }); }
  function open() { shut(false); }
  shut(true);
  store.ready = start();
  store.ready.then(open, open);
});
