/* Readings: typed in either unit, judged at once in words, questioned where they cannot be, both kept where two. */
procgen.part(function (data, pg, ui, store) {
  "use strict";
  var measure = pg.measure;

  pg.unitOf = function (kind) {
    var units = data.kinds[kind].units;
    var symbol = null;
    try { symbol = localStorage.getItem("procgen:unit:" + data.guide + ":" + kind); } catch (error) { /* the first unit then */ }
    return units.filter(function (unit) { return unit.symbol === symbol; })[0] || units[0];
  };

  /* A reading as it is judged now: where a measurement has moved its upper limit, by the moved one. */
  function standing(id) {
    var reading = data.readings[id];
    var hit = reading && reading.high_value && pg.updates(pg.view())[reading.high_value];
    var ends = hit && hit.row.ends[reading.high_value];
    if (!ends) return reading;
    return Object.assign({}, reading, {
      high: ends[1], limits_text: ui.say("what_if.limit", {
        figure: hit.row.texts[reading.high_value], shown: hit.entry.typed + " " + hit.entry.unit
      })
    });
  }

  /* What a verdict says, in words; the colour only says it again. */
  pg.verdictWords = function (id, verdict) {
    var reading = standing(id);
    return ui.say("verdict." + verdict, {
      limits: reading.limits_text, target: reading.target_text, expected: reading.expected_text
    });
  };

  /* A reading of another edition is judged again by this one's limits, and shown beside what it was judged by. */
  pg.verdictNow = function (entry) {
    var reading = standing(entry.reading);
    if (!reading || reading.kind !== entry.quantity) return entry.verdict;
    return measure.judge(entry.si, entry.beyond || "", reading);
  };

  function room(node) {
    var id = node.getAttribute("data-of");
    var reading = data.readings[id];
    if (!reading) return;
    var kind = data.kinds[reading.kind];
    var input = ui.el("input", {
      id: ui.id(), class: "measured", type: "text", inputmode: reading.kind === "count" ? "numeric" : "decimal", autocomplete: "off",
      autocapitalize: "off", spellcheck: "false", enterkeyhint: "done"
    });
    var verdict = ui.el("div", { class: "verdict-words", role: "status", "aria-live": "polite" });
    var list = ui.el("ol", { class: "kept-readings" });
    input.setAttribute("aria-describedby", (verdict.id = ui.id()));
    var units = ui.el("select", { class: "unit", "aria-label": ui.say("reading.unit") }, kind.units.map(function (unit, at) {
      return ui.el("option", { value: String(at), text: unit.symbol });
    }));
    var single = kind.units.length < 2;
    var label = ui.el("label", { for: input.id, text: ui.say("reading.measured") });
    label.append(ui.el("span", { class: "vh", text: " " + reading.label }));
    var keep = ui.button(ui.say("reading.keep"), "act--do", enter);
    units.value = String(kind.units.indexOf(pg.unitOf(reading.kind)));
    ui.fill(node, [
      ui.el("div", { class: "measure-row" }, [
        label, input, single ? ui.el("span", { class: "unit unit--one", text: kind.units[0].symbol }) : units, keep
      ]), verdict, list
    ]);

    function unit() { return kind.units[single ? 0 : Number(units.value)]; }

    function figure() {
      var found = measure.read(input.value, reading.kind);
      return found.why ? found : Object.assign(found, { si: measure.toSi(found, unit()) });
    }

    function draft() {
      return store.put({ kind: "draft", id: "draft:" + id, of: id, typed: input.value, unit: unit().symbol });
    }

    /* Judged while it is typed; kept when it is said to be whole. */
    function look() {
      var found = figure();
      if (found.why === "empty") { say("", ""); return; }
      if (found.why) { say("odd", ui.say("reading.no_number")); return; }
      if (measure.doubt(found.si, reading)) { say("odd", ui.say("reading.look_again")); return; }
      var judged = measure.judge(found.si, found.beyond, standing(id));
      say(judged, pg.verdictWords(id, judged));
    }

    function say(judged, words) {
      verdict.className = "verdict-words" + (judged ? " is-" + tone(judged) : "");
      if (verdict.textContent !== words) verdict.textContent = words;
    }

    function enter() {
      var found = figure();
      if (found.why) {
        say("odd", ui.say(found.why === "empty" ? "reading.empty" : "reading.no_number"));
        input.focus();
        return;
      }
      both(found).then(function (chosen) {
        if (!chosen) { input.focus(); return null; }
        return question(chosen).then(function (answer) {
          if (!answer) { input.focus(); return; }
          record(chosen, answer === "kept");
        });
      });
    }

    /* 1,234 is one and a bit to one reader and over a thousand to another. */
    function both(found) {
      if (found.or === undefined) return Promise.resolve(found);
      var other = Object.assign({}, found, { number: found.or });
      other.si = measure.toSi(other, unit());
      if (measure.doubt(other.si, reading)) return Promise.resolve(found);
      if (measure.doubt(found.si, reading)) return Promise.resolve(other);
      return ui.ask({
        title: ui.say("reading.which", { typed: input.value }), yes: String(found.number) + " " + unit().symbol,
        also: String(found.or) + " " + unit().symbol
      }).then(function (answer) { return answer === "also" ? other : answer ? found : null; });
    }

    function question(found) {
      var doubt = measure.doubt(found.si, reading);
      if (!doubt) return Promise.resolve("plain");
      var shown = input.value.trim() + " " + unit().symbol;
      return ui.ask({
        title: ui.say("reading.sure", { shown: shown }),
        lines: [ui.say("reading." + doubt, { low: kind.bounds[0] || "–", high: kind.bounds[1] || "–" })],
        yes: ui.say("reading.correct"), no: ui.say("cancel"), also: doubt === "implausible" ? ui.say("reading.as_read") : ""
      }).then(function (answer) { return answer === "also" ? "kept" : ""; });
    }

    function record(found, questioned) {
      var now = standing(id);
      var judged = measure.judge(found.si, found.beyond, now);
      var words = pg.verdictWords(id, judged);
      try { localStorage.setItem("procgen:unit:" + data.guide + ":" + reading.kind, unit().symbol); } catch (error) { /* a habit only */ }
      store.put({
        kind: "reading", reading: id, step: reading.step, quantity: reading.kind, typed: input.value.trim(), unit: unit().symbol,
        si: found.si, beyond: found.beyond, verdict: judged, low: now.low, high: now.high, target: now.target,
        limits_text: now.limits_text, questioned: questioned
      });
      input.value = "";
      draft();
      say("", "");
      ui.tell(words);
    }

    input.addEventListener("input", function () { look(); draft(); });
    units.addEventListener("change", function () { look(); draft(); });
    input.addEventListener("keydown", function (event) { if (event.key === "Enter") { event.preventDefault(); enter(); } });

    /* What a timer counted stands ready to be kept; a figure that is being typed is not touched. */
    window.addEventListener("procgen:measured", function (event) {
      var found = event.detail;
      if (found.step !== reading.step || !reading.value || found.value !== reading.value || input.value) return;
      if (!single && reading.kind === "time") units.value = "0";
      input.value = found.typed;
      look();
      draft();
    });

    var drafted = false;
    return function (v) {
      var mine = v.drafts[id];
      if (!drafted && mine) {
        drafted = true;
        if (mine.typed && !input.value) {
          input.value = mine.typed;
          var at = kind.units.map(function (one) { return one.symbol; }).indexOf(mine.unit);
          if (at >= 0 && !single) units.value = String(at);
          look();
        }
      }
      drafted = true;
      kept(v);
    };

    function kept(v) {
      var entries = v.readings[id] || [];
      ui.fill(list, entries.map(function (entry) { return line(entry); }));
      var last = entries[entries.length - 1];
      var outside = last && measure.bad(pg.verdictNow(last));
      var box = node.closest(".reading");
      if (box) {
        box.classList.toggle("is-outside", Boolean(outside));
        box.classList.toggle("is-inside", Boolean(last && !outside && measure.good(pg.verdictNow(last))));
        box.classList.toggle("is-measured", Boolean(last));
      }
      if (outside) {
        list.append(ui.el("li", { class: "again" }, [
          ui.el("strong", { text: ui.say(entries.length > 1 ? "reading.still_outside" : "reading.again") }),
          ui.el("span", { text: " " + reading.remedy })
        ]));
      }
      var moved = last && pg.whatIf(v, id);
      if (moved) list.append(moved);
      keep.textContent = ui.say(entries.length ? "reading.keep_again" : "reading.keep");
    }

    function line(entry) {
      var judged = pg.verdictNow(entry);
      var parts = [
        ui.el("span", { class: "kept-figure", text: entry.typed + (entry.unit ? "\u00a0" + entry.unit : "") }), " ",
        ui.el("span", { class: "kept-words", text: pg.verdictWords(id, judged) }), " ",
        ui.el("span", { class: "kept-time", text: ui.when(entry.time) })
      ];
      if (entry.questioned) parts.push(" ", ui.el("span", { class: "kept-mark", text: ui.say("reading.questioned") }));
      if (entry.edition !== store.edition) {
        parts.push(" ", ui.el("span", { class: "kept-mark", text: ui.say("reading.before", { limits: entry.limits_text || "–", edition: entry.edition }) }));
      }
      return ui.el("li", { class: "is-" + tone(judged) }, parts);
    }
  }

  function tone(judged) {
    if (measure.bad(judged)) return "bad";
    if (judged === "odd" || measure.odd(judged)) return "odd";
    return measure.good(judged) ? "good" : "plain";
  }
  pg.tone = tone;

  /* ---------- what if: the worse of the two rows around what was measured ---------- */

  /* Rows that measured figures lead to, by the value they move: {id: {row, entry, table}}. */
  pg.updates = function (v) {
    var found = {};
    Object.keys(data.readings).forEach(function (id) {
      var table = data.tables[data.readings[id].what_if];
      var last = table && pg.lastReading(v, id);
      if (!last || last.beyond || last.quantity !== data.readings[id].kind) return;
      var hit = measure.row(table, last.si);
      if (!hit.row) return;
      Object.keys(table.titles).forEach(function (value) {
        found[value] = { row: hit.row, entry: last, table: table, label: data.readings[id].label };
      });
    });
    return found;
  };

  pg.whatIf = function (v, id) {
    var table = data.tables[data.readings[id].what_if];
    var last = table && pg.lastReading(v, id);
    if (!last) return null;
    var hit = measure.row(table, last.si);
    if (!hit.row) return ui.el("li", { class: "updated", text: ui.say("what_if.outside") });
    if (!Object.keys(hit.row.texts).length) {
      return ui.el("li", { class: "updated is-bad", text: ui.say("what_if.no_answer", { why: hit.row.why }) });
    }
    return ui.el("li", { class: "updated" }, [
      ui.el("strong", { text: ui.say("what_if.head", { shown: last.typed + " " + last.unit }) }),
      ui.el("ul", {}, Object.keys(hit.row.texts).map(function (value) {
        return ui.el("li", { text: table.titles[value] + ": " + hit.row.texts[value] });
      })),
      hit.between ? ui.el("p", { class: "hint", text: ui.say("what_if.between") }) : null
    ]);
  };

  /* Beside a printed figure that a measurement has moved: the figure that holds now. */
  function mark(v) {
    var updates = pg.updates(v);
    document.querySelectorAll(".now-holds").forEach(function (node) { node.remove(); });
    document.querySelectorAll("main .q[data-value]").forEach(function (node) {
      var hit = updates[node.getAttribute("data-value")];
      if (!hit || node.closest(".calc")) return;
      var text = hit.row.texts[node.getAttribute("data-value")];
      node.after(ui.el("span", { class: "now-holds", text: " " + (text ? ui.say("what_if.now", { figure: text, shown: hit.entry.typed + " " + hit.entry.unit }) : ui.say("what_if.none_now", { why: hit.row.why })) }));
    });
  }

  var renders = ui.rooms("reading").map(room).filter(Boolean);
  pg.watch(function (v) {
    renders.forEach(function (render) { render(v); });
    mark(v);
  });
});
