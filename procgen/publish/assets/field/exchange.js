/* The record as a file: out as JSON and CSV, in from another phone. The schema is published and has a version. */
procgen.part(function (data, pg, ui, store) {
  "use strict";
  var SCHEMA = "procgen-record";
  var VERSION = 1;
  var COLUMNS = [
    "time", "kind", "number", "title", "id", "name", "role", "licence", "typed", "unit", "si", "si_unit", "low", "high",
    "target", "verdict", "text", "edition", "device", "seq"
  ];

  function base64(blob) {
    return new Promise(function (resolve, reject) {
      var reader = new FileReader();
      reader.onload = function () { resolve(reader.result); };
      reader.onerror = function () { reject(reader.error); };
      reader.readAsDataURL(blob);
    });
  }

  function blob(url) {
    var parts = /^data:([\w/+.-]+);base64,([A-Za-z0-9+/=]*)$/.exec(url);
    if (!parts) return url;
    var bytes = atob(parts[2]);
    var list = new Uint8Array(bytes.length);
    for (var i = 0; i < bytes.length; i += 1) list[i] = bytes.charCodeAt(i);
    return new Blob([list], { type: parts[1] });
  }

  /* The record as data: every entry in the order of its count. */
  store.export = function () {
    return store.ready.then(function () {
      return Promise.all(store.all().map(function (entry) {
        if (!(entry.data instanceof Blob)) return entry;
        return base64(entry.data).then(function (text) { return Object.assign({}, entry, { data: text }); });
      }));
    }).then(function (entries) {
      return {
        schema: SCHEMA, version: VERSION, guide: data.guide, title: data.title, edition: store.edition,
        exported: pg.ui.stamp(), device: store.device, started: store.head().started, entries: entries, aside: store.asideRows()
      };
    });
  };

  function refuse(key, params) { return { refused: pg.ui.say("import." + key, params) }; }

  /* Take in a file. Nothing that is here is lost: entries join by id, the later state of one stands. */
  store.import = function (text) {
    var file;
    try { file = JSON.parse(text); } catch (error) { return Promise.resolve(refuse("broken", { why: error.message })); }
    if (!file || file.schema !== SCHEMA || typeof file.version !== "number") return Promise.resolve(refuse("other_file"));
    if (file.version > VERSION) return Promise.resolve(refuse("newer", { found: file.version, known: VERSION }));
    if (file.guide !== data.guide) return Promise.resolve(refuse("other_guide", { found: file.title || file.guide, here: data.title }));
    if (!Array.isArray(file.entries)) return Promise.resolve(refuse("broken", { why: "entries" }));
    var good = file.entries.filter(store.sound).map(function (entry) {
      return typeof entry.data === "string" && entry.kind === "photo" ? Object.assign({}, entry, { data: blob(entry.data) }) : entry;
    });
    var bad = file.entries.filter(function (entry) { return !store.sound(entry); });
    return store.ready.then(function () {
      return store.setAside(bad);
    }).then(function () {
      return store.merge(good);
    }).then(function (fresh) {
      var dropped = store.dropped(good);
      var report = { added: fresh.length, already: good.length - fresh.length, aside: bad.length, dropped: dropped, edition: file.edition };
      if (!fresh.length) return report;
      return store.put({
        kind: "received", from: file.device || "", entries: fresh.length, of_edition: file.edition, dropped: dropped
      }).then(function () { return report; });
    });
  };

  /* A cell that a spreadsheet would take for a formula is text. */
  function cell(value) {
    if (value === null || value === undefined) return "";
    var text = String(value);
    if (typeof value === "string" && /^[=+@\-\t\r]/.test(text)) text = "'" + text;
    return /[",\n\r]/.test(text) ? '"' + text.replace(/"/g, '""') + '"' : text;
  }

  store.csv = function () {
    var rows = store.all().filter(function (entry) { return entry.kind !== "draft"; }).map(function (entry) {
      var of = data.readings[entry.reading];
      var timer = data.timers[entry.timer];
      var id = entry.step || entry.hold || (of && of.step) || (timer && timer.step) || "";
      var item = data.items[id] || {};
      var line = {
        number: item.n, title: of ? of.label : timer ? timer.label : item.title, id: entry.reading || entry.timer || id,
        si_unit: of ? data.kinds[of.kind].si : "", text: entry.text || entry.why || entry.state || ""
      };
      return COLUMNS.map(function (name) { return cell(name in line ? line[name] : entry[name]); }).join(",");
    });
    return COLUMNS.join(",") + "\n" + rows.map(function (line) { return line + "\n"; }).join("");
  };

  store.fileName = function (ending) {
    return data.guide + "-" + store.edition + "-" + pg.ui.stamp().slice(0, 16).replace(/[-:]/g, "").replace("T", "-") + "." + ending;
  };

  /* Hand a file over: the share sheet where there is one that takes files, else a download. */
  store.hand = function (content, ending, share) {
    var type = ending === "json" ? "application/json" : "text/csv";
    var file = new File([content], store.fileName(ending), { type: type });
    if (share && navigator.canShare && navigator.canShare({ files: [file] })) {
      return navigator.share({ files: [file], title: data.title }).then(function () { return "shared"; }, function (error) {
        return error && error.name === "AbortError" ? "stopped" : save(file);
      });
    }
    return Promise.resolve(save(file));
  };

  function save(file) {
    var url = URL.createObjectURL(file);
    var link = pg.ui.el("a", { href: url, download: file.name });
    document.body.append(link);
    link.click();
    link.remove();
    window.setTimeout(function () { URL.revokeObjectURL(url); }, 60000);
    return "saved";
  }
});
