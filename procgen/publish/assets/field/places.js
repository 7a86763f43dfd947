/* The places where rows are kept, the best first: a database, the small store of the browser, this page alone. */
procgen.part(function (data, pg) {
  "use strict";
  var guide = data.guide;
  var name = "procgen:" + guide;
  /* Some browsers at times never answer: neither yes nor no. */
  var LATE = 8000;
  var KNOWN = {
    tick: ["step", "print"], untick: ["step"], confirm: ["hold", "print", "name"], unconfirm: ["hold"],
    reading: ["reading", "typed", "unit", "si"], draft: ["of"], remark: ["text"], start: ["timer"], run: ["timer", "start", "state"],
    stop: ["timer", "start"], clock: ["start", "delta"], photo: ["name", "data"], signature: ["name", "data"],
    person: ["name"], carry: ["from"], received: ["from"], remove: ["ref"]
  };

  function sound(entry) {
    if (!entry || typeof entry !== "object" || typeof entry.id !== "string" || !entry.id) return false;
    if (typeof entry.kind !== "string" || typeof entry.time !== "string" || isNaN(Date.parse(entry.time))) return false;
    if (typeof entry.seq !== "number" || !isFinite(entry.seq)) return false;
    /* A kind that only a later version knows is kept and passed over. */
    return (KNOWN[entry.kind] || []).every(function (field) { return entry[field] !== undefined; });
  }

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
    return Promise.race([opened(), new Promise(function (resolve, reject) {
      window.setTimeout(function () { reject(new Error("timeout")); }, LATE);
    })]);
  }

  function opened() {
    return new Promise(function (resolve, reject) {
      var request = indexedDB.open(name);
      request.onupgradeneeded = function () {
        request.result.createObjectStore("rows", { keyPath: ["edition", "id"] });
        request.result.createObjectStore("heads", { keyPath: "edition" });
        request.result.createObjectStore("aside", { autoIncrement: true });
      };
      request.onblocked = function () { reject(new Error("blocked")); };
      request.onerror = function () { reject(request.error); };
      request.onsuccess = function () {
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
          if (t.commit) t.commit();
          return end;
        },
        /* Entries that a page left on their way. A later state stands, and what has been cleared stays so. */
        join: function (of, list) {
          var t = db.transaction(["rows", "heads"], "readwrite");
          var rows = t.objectStore("rows");
          var heads = t.objectStore("heads");
          var work = Promise.all(list.map(function (entry) {
            return Promise.all([of, "cleared:" + of].map(function (where) {
              return asked(rows.get([where, entry.id]));
            })).then(function (there) {
              if (there.some(function (one) { return one && sound(one.entry) && one.entry.seq >= entry.seq; })) return 0;
              rows.put(row(entry, of));
              return entry.seq;
            });
          })).then(function (counts) {
            var last = Math.max.apply(null, counts);
            return last && asked(heads.get(of)).then(function (found) {
              var one = found || { edition: of, guide: guide, title: data.title, started: list[0].time, carried: {} };
              /* Higher in any case: other editions look there for something new. */
              one.top = Math.max((one.top || 0) + 1, last);
              heads.put(one);
            });
          });
          return Promise.all([work, done(t)]);
        },
        /* All rows of one record become those of another; what stood there goes. */
        move: function (from, to, heads) {
          var t = db.transaction(["rows", "heads"], "readwrite");
          var end = done(t);
          var rows = t.objectStore("rows");
          heads.forEach(function (one) { t.objectStore("heads").put(one); });
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
      /* What was kept here while the database did not answer. */
      left: function () {
        return read().rows.filter(function (row) { return row && !/^cleared:/.test(row.edition); }).map(function (row) {
          return { row: row, drop: function () {
            var all = read();
            all.rows = all.rows.filter(function (o) { return !o || o.edition !== row.edition || o.id !== row.id; });
            keep(all);
          } };
        });
      },
      write: function (rows, heads, bad) {
        if (rows.some(function (row) { return row.entry.data instanceof Blob; })) return Promise.reject(new Error("picture"));
        var all = read();
        rows.forEach(function (row) {
          put(all.rows, row, function (o) { return o.edition === row.edition && o.id === row.id; });
        });
        heads.forEach(function (one) { put(all.heads, one, function (o) { return o.edition === one.edition; }); });
        all.aside = (all.aside || []).concat((bad || []).map(function (row) { return { row: row }; }));
        try { keep(all); } catch (error) { return Promise.reject(error); }
        return Promise.resolve();
      },
      move: function (from, to, heads) {
        var all = read();
        all.rows = all.rows.filter(function (row) { return row.edition !== to; });
        all.rows.forEach(function (row) { if (row.edition === from) row.edition = to; });
        heads.forEach(function (one) { put(all.heads, one, function (o) { return o.edition === one.edition; }); });
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

  function row(entry, of) { return { edition: of, id: entry.id, entry: entry }; }

  pg.places = { database: database, small: small, memory: memory, sound: sound, row: row, late: LATE };
});
