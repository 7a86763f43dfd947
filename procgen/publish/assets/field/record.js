/* The page "Record": what was done, by whom; sending, taking in, signing, clearing. */
procgen.part(function (data, pg, ui, store) {
  "use strict";
  var FILE_MOST = 60e6;
  function room(name) { return ui.rooms("record-" + name)[0]; }
  if (!room("summary")) return;

  function summary(v) {
    var all = pg.progress(v, pg.order);
    var steps = pg.order.filter(function (id) { return data.items[id].kind === "step"; });
    var holds = pg.order.filter(function (id) { return data.items[id].kind === "hold"; });
    var measured = Object.keys(v.readings).filter(function (id) { return data.readings[id]; });
    var bad = measured.filter(function (id) { return pg.measure.bad(pg.verdictNow(pg.lastReading(v, id))); });
    var flagged = pg.order.filter(function (id) { return v.items[id].flagged || v.items[id].changed; });
    var head = store.head();
    var rows = [
      [ui.say("record.guide"), data.title], [ui.say("record.edition"), store.edition],
      [ui.say("record.started"), head.started ? ui.when(head.started) : "–"],
      [ui.say("record.steps"), ui.say("record.of", pg.progress(v, steps))], [ui.say("record.holds"), ui.say("record.of", pg.progress(v, holds))],
      [ui.say("record.readings"), ui.say("record.of", { done: measured.length, n: Object.keys(data.readings).length })],
      [ui.say("record.outside"), String(bad.length)], [ui.say("record.flagged"), String(flagged.length)]
    ];
    ui.fill(room("summary"), [
      ui.el("dl", { class: "facts" }, rows.map(function (row) { return ui.el("div", {}, [ui.el("dt", { text: row[0] }), ui.el("dd", { text: row[1] })]); })),
      list(bad, function (id) { return [ui.link(data.readings[id].step), ": " + pg.unsettledWords(id)]; }, "record.outside_list"),
      list(flagged, function (id) { return [ui.link(id)]; }, "record.flagged_list")
    ].concat(pg.storageWords().map(function (words) { return ui.el("p", { class: "hint", text: words }); })));
    return all;
  }

  function list(ids, line, head) {
    if (!ids.length) return null;
    return ui.el("div", { class: "record-list" }, [ui.el("p", { text: ui.say(head) }), ui.el("ul", {}, ids.map(function (id) { return ui.el("li", {}, line(id)); }))]);
  }

  /* ---------- who works ---------- */

  function person() {
    var name = ui.field(ui.say("person.name"), { type: "text", autocomplete: "name", maxlength: 120 });
    var licence = ui.field(ui.say("person.licence"), { type: "text", maxlength: 60 });
    var role = ui.el("select", { id: ui.id() }, Object.keys(data.roles).map(function (key) { return ui.el("option", { value: key, text: data.roles[key] }); }));
    if (data.roles.technician) role.value = "technician";
    function keep() {
      store.put({ kind: "person", id: "person:" + store.device, name: name.input.value, role: role.value, licence: licence.input.value });
    }
    name.input.addEventListener("input", keep);
    licence.input.addEventListener("input", keep);
    role.addEventListener("change", keep);
    ui.fill(room("person"), [name.node, ui.el("div", { class: "ask" }, [ui.el("label", { for: role.id, text: ui.say("person.role") }), role]), licence.node]);
    var done = false;
    return function (v) {
      var mine = v.persons[store.device];
      if (done || !mine) { done = done || store.state.ready; return; }
      done = true;
      name.input.value = mine.name;
      licence.input.value = mine.licence || "";
      role.value = mine.role || role.value;
    };
  }

  /* ---------- sending and taking in ---------- */

  function send() {
    var told = ui.el("p", { class: "told", role: "status", "aria-live": "polite" });
    var report = ui.el("div", { class: "report" });
    var file = ui.el("input", { type: "file", accept: ".json,application/json", class: "vh", tabindex: "-1", "aria-label": ui.say("record.take_in") });
    function out(ending, share) {
      var made = ending === "json" ? store.export().then(function (all) { return JSON.stringify(all, null, 1); }) : Promise.resolve(store.csv());
      made.then(function (text) { return store.hand(text, ending, share); }).then(function (how) {
        told.textContent = ui.say("record." + how, { file: store.fileName(ending) });
      }, function (error) { told.textContent = ui.say("record.failed", { why: error.message }); });
    }
    file.addEventListener("change", function () {
      var chosen = file.files[0];
      if (!chosen) return;
      if (chosen.size > FILE_MOST) { ui.fill(report, [ui.el("p", { class: "wrong", text: ui.say("import.too_large") })]); return; }
      chosen.text().then(store.import).then(show, function (error) { show({ refused: ui.say("import.broken", { why: error.message }) }); });
      file.value = "";
    });
    function show(result) {
      if (result.refused) { ui.fill(report, [ui.el("p", { class: "wrong", role: "alert", text: result.refused })]); return; }
      ui.fill(report, [
        ui.el("p", { role: "status", text: ui.say("import.done", { n: result.added, already: result.already }) }),
        result.aside ? ui.el("p", { text: ui.say("kept.aside", { n: result.aside }) }) : null,
        list(result.dropped, function (id) { return [ui.link(id)]; }, "import.dropped")
      ]);
    }
    var canShare = Boolean(navigator.canShare && navigator.share);
    ui.fill(room("send"), [
      ui.el("p", { text: ui.say("record.send_lead") }),
      ui.el("div", { class: "acts" }, [
        canShare ? ui.button(ui.say("record.share"), "act--do", function () { out("json", true); }) : null,
        ui.button(ui.say("record.json"), canShare ? "" : "act--do", function () { out("json", false); }),
        ui.button(ui.say("record.csv"), "", function () { out("csv", false); })
      ]), told,
      ui.el("p", { text: ui.say("record.take_in_lead") }),
      ui.el("div", { class: "acts" }, [ui.button(ui.say("record.take_in"), "", function () { file.click(); }), file]), report
    ]);
  }

  /* ---------- signing by drawing ---------- */

  function signature() {
    var name = ui.field(ui.say("signature.name"), { type: "text", autocomplete: "name", maxlength: 120 });
    var pad = ui.el("canvas", { class: "pad", width: 640, height: 240, role: "img", "aria-label": ui.say("signature.pad") });
    var told = ui.el("p", { class: "told", role: "status", "aria-live": "polite" });
    var drawn = ui.el("div", { class: "signatures" });
    var pen = pad.getContext("2d");
    var empty = true;
    function wipe() { pen.fillStyle = "#fff"; pen.fillRect(0, 0, pad.width, pad.height); empty = true; }
    function at(event) {
      var box = pad.getBoundingClientRect();
      return [(event.clientX - box.left) * pad.width / box.width, (event.clientY - box.top) * pad.height / box.height];
    }
    wipe();
    pen.lineWidth = 4;
    pen.lineCap = pen.lineJoin = "round";
    pad.addEventListener("pointerdown", function (event) {
      pad.setPointerCapture(event.pointerId);
      pen.beginPath();
      pen.moveTo.apply(pen, at(event));
    });
    pad.addEventListener("pointermove", function (event) {
      if (!pad.hasPointerCapture(event.pointerId)) return;
      pen.lineTo.apply(pen, at(event));
      pen.stroke();
      empty = false;
    });
    ui.fill(room("signature"), [
      ui.el("p", { text: ui.say("signature.lead") }), name.node, pad,
      ui.el("div", { class: "acts" }, [
        ui.button(ui.say("signature.keep"), "act--do", function () {
          if (empty || name.input.value.trim().length < 2) { told.textContent = ui.say("signature.needs"); return; }
          store.put({ kind: "signature", name: name.input.value.trim(), data: pad.toDataURL("image/png") });
          wipe();
          told.textContent = ui.say("signature.kept");
        }), ui.button(ui.say("signature.wipe"), "", wipe)
      ]), told, drawn
    ]);
    return function (v) {
      if (drawn.dataset.shown === String(v.signatures.length)) return;
      drawn.dataset.shown = String(v.signatures.length);
      ui.fill(drawn, v.signatures.map(function (one) {
        return ui.el("figure", { class: "photo" }, [
          /^data:image\/png;base64,/.test(one.data) ? ui.el("img", { src: one.data, alt: ui.say("signature.alt", { name: one.name }) }) : null,
          ui.el("figcaption", { text: one.name + ", " + ui.when(one.time) })
        ]);
      }));
    };
  }

  /* ---------- everything, by part ---------- */

  function line(v, entry) {
    var words = ui.say("entry." + entry.kind, {
      name: entry.name, licence: entry.licence, n: entry.entries, from: entry.from, text: entry.text,
      label: data.timers[entry.timer] ? data.timers[entry.timer].label : "", elapsed: entry.elapsed === undefined ? "" : ui.watch(entry.elapsed),
      by: entry.jump === undefined ? "" : ui.watch(Math.abs(entry.jump) / 1000)
    });
    if (entry.kind === "reading") {
      var of = data.readings[entry.reading];
      words = (of ? of.label : entry.reading) + ": " + entry.typed + " " + entry.unit + ". " + (of ? pg.verdictWords(entry.reading, pg.verdictNow(entry)) : "");
    }
    if (entry.kind === "run") words = ui.say("entry.run_" + entry.state);
    return ui.el("li", { class: entry.kind === "reading" ? "is-" + pg.tone(pg.verdictNow(entry)) : "" }, [
      ui.el("span", { class: "kept-time", text: ui.when(entry.time) }), " ", words,
      entry.edition !== store.edition ? ui.el("span", { class: "kept-mark", text: " " + ui.say("record.from_edition", { edition: entry.edition }) }) : null
    ]);
  }

  function entries(v) {
    var shown = v.entries.filter(function (one) { return one.kind !== "draft" && one.kind !== "person" && !(one.kind === "remark" && !one.text); });
    function owner(one) {
      return one.step || one.hold || (data.readings[one.reading] && data.readings[one.reading].step) || (data.timers[one.timer] && data.timers[one.timer].step) || "";
    }
    var groups = {};
    shown.forEach(function (one) { var id = data.items[owner(one)] ? owner(one) : ""; (groups[id] = groups[id] || []).push(one); });
    var blocks = pg.order.filter(function (id) { return groups[id]; }).map(function (id) {
      return ui.el("section", { class: "record-item" }, [
        ui.el("h3", {}, [ui.link(id)]), ui.el("ul", {}, groups[id].map(function (one) { return line(v, one); })),
        ui.el("div", { class: "photos" }, v.photos.filter(function (one) { return one.step === id; }).map(pg.picture))
      ]);
    });
    if (groups[""]) blocks.push(ui.el("section", { class: "record-item" }, [ui.el("h3", { text: ui.say("record.general") }), ui.el("ul", {}, groups[""].map(function (one) { return line(v, one); }))]));
    ui.fill(room("entries"), blocks.length ? blocks : [ui.el("p", { text: ui.say("record.nothing") })]);
  }

  /* ---------- clearing ---------- */

  function clear() {
    var told = ui.el("p", { class: "told", role: "status", "aria-live": "polite" });
    var undo = ui.button(ui.say("clear.undo"), "act--do", function () {
      store.undo().then(function () { told.textContent = ui.say("clear.undone"); });
    });
    var wipe = ui.button(ui.say("clear.do"), "act--grave", function () {
      ui.ask({
        title: ui.say("clear.sure"), lines: [ui.say("clear.what", { n: store.all().length })], yes: ui.say("clear.do"), grave: true
      }).then(function (yes) {
        if (!yes) return;
        store.clear().then(function () { told.textContent = ui.say("clear.done"); undo.focus(); }, function (error) {
          told.textContent = ui.say("record.failed", { why: error.message || error.name });
        });
      });
    });
    ui.fill(room("clear"), [ui.el("p", { text: ui.say("clear.lead") }), ui.el("div", { class: "acts" }, [wipe, undo]), told]);
    return function () { undo.hidden = !store.canUndo(); };
  }

  send();
  var general = pg.remarkField("", ui.say("remark.general"));
  ui.fill(room("remark"), [general.node]);
  var renders = [summary, person(), signature(), general.show, entries, clear()];
  pg.watch(function (v) { renders.forEach(function (render) { render(v); }); });
});
