/* From entries to what stands: which step is done, which hold is confirmed, what a reading says. No storage here. */
procgen.part(function (data, pg) {
  "use strict";
  var order = [];
  data.parts.forEach(function (part) { order = order.concat(part.items); });
  pg.order = order;

  /* entries by their count -> {items, readings, drafts, remarks, timers, photos, signatures, person, ...} */
  function view(entries) {
    var v = {
      items: {}, readings: {}, drafts: {}, remarks: {}, timers: {}, photos: [], signatures: [], persons: {}, carried: [],
      history: {}, entries: entries
    };
    var gone = {};
    entries.forEach(function (entry) { if (entry.kind === "remove") gone[entry.ref] = true; });
    order.forEach(function (id) { v.items[id] = { done: false, entry: null, changed: null, flagged: false }; });
    entries.forEach(function (entry) {
      var id = entry.step || entry.hold;
      if (gone[entry.id]) return;
      switch (entry.kind) {
        case "tick": case "confirm": case "untick": case "unconfirm":
          (v.history[id] = v.history[id] || []).push(entry);
          if (v.items[id]) settle(v.items[id], entry, data.items[id].print);
          break;
        case "reading": (v.readings[entry.reading] = v.readings[entry.reading] || []).push(entry); break;
        case "draft": v.drafts[entry.of] = entry; break;
        case "remark": if (entry.text) (v.remarks[entry.step || ""] = v.remarks[entry.step || ""] || []).push(entry); break;
        case "start": v.timers[entry.id] = { start: entry, runs: [], stop: null, delta: 0, clocks: [] }; break;
        case "run": if (v.timers[entry.start]) v.timers[entry.start].runs.push(entry); break;
        case "stop": if (v.timers[entry.start]) v.timers[entry.start].stop = v.timers[entry.start].stop || entry; break;
        case "clock":
          if (v.timers[entry.start] && !seen(v.timers[entry.start].clocks, entry)) {
            v.timers[entry.start].clocks.push(entry);
            v.timers[entry.start].delta += entry.delta;
          }
          break;
        case "photo": v.photos.push(entry); break;
        case "signature": v.signatures.push(entry); break;
        case "person": v.persons[entry.device] = entry; break;
        case "carry": case "received": v.carried.push(entry); break;
        default: /* of a later version: kept, not judged */
      }
    });
    order.forEach(function (id) { v.items[id].flagged = v.items[id].done && Boolean(pg.blockedBy(v, id)); });
    return v;
  }

  /* Two open tabs may both notice one change of the clock, the hidden one later: alike, it counts once. */
  function seen(clocks, entry) {
    return clocks.some(function (one) {
      var apart = Math.abs(Date.parse(one.time) - Date.parse(entry.time));
      return one.how === entry.how && Math.abs(one.jump - entry.jump) < 2000 && apart < 1800000;
    });
  }

  function settle(item, entry, print) {
    item.done = false;
    item.changed = null;
    item.entry = entry;
    if (entry.kind !== "tick" && entry.kind !== "confirm") return;
    /* What was ticked had another text: it counts no longer, and the page says so. */
    if (entry.print === print) item.done = true; else item.changed = entry;
  }

  /* The first hold, from the start of the work, that stands open before an item; "" where none does. */
  pg.blockedBy = function (v, id) {
    var after = data.items[id] ? data.items[id].after : "";
    var open = "";
    while (after) {
      if (!v.items[after].done) open = after;
      after = data.items[after].after;
    }
    return open;
  };

  /* A timer runs until it is stopped. */
  pg.running = function (v) {
    return Object.keys(v.timers).map(function (id) { return v.timers[id]; }).filter(function (timer) {
      return !timer.stop && data.timers[timer.start.timer];
    });
  };

  pg.progress = function (v, ids) {
    var done = ids.filter(function (id) { return v.items[id].done; }).length;
    return { done: done, n: ids.length };
  };

  /* Where to go on: the first open item after the last one done; and how many earlier ones are open. */
  pg.next = function (v) {
    var last = -1;
    order.forEach(function (id, at) { if (v.items[id].done) last = at; });
    var open = order.filter(function (id, at) { return at > last && !v.items[id].done; });
    var left = order.filter(function (id, at) { return at < last && !v.items[id].done; });
    return { started: last >= 0, id: open[0] || left[0] || "", left: left };
  };

  pg.lastReading = function (v, id) { var list = v.readings[id] || []; return list[list.length - 1] || null; };

  var current = null;
  pg.view = function () {
    if (!current) current = view(pg.store.all());
    return current;
  };
  window.addEventListener("procgen:changed", function () { current = null; });

  /* Draw now and whenever something changes. The record may be open before the script that draws has run. */
  pg.watch = function (draw) {
    function go() { if (pg.store.state.ready) draw(pg.view()); }
    window.addEventListener("procgen:changed", go);
    go();
  };
});
