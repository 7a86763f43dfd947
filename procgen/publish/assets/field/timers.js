/* Timers: from the clock, so that reload, lock and closed tab do not stop them. A help, never the safeguard. */
procgen.part(function (data, pg, ui, store) {
  "use strict";
  var JUMP = 2000;
  var sound = null;
  var awake = null;
  var asking = false;

  /* ---------- time that went by ---------- */

  /* Wall clock less what the clock was moved by since: entries after `entry` count. */
  function elapsed(timer, entry, now) {
    var moved = timer.clocks.reduce(function (sum, one) { return one.seq > entry.seq ? sum + one.delta : sum; }, 0);
    return ((now === undefined ? Date.now() : now) - entry.at - moved) / 1000;
  }
  pg.elapsed = elapsed;

  /* The clock of the phone against the counter of the page, which no setting moves. A phone that sleeps stops the
     counter: a jump ahead while the page was hidden is taken for sleep, any other jump for a changed clock. */
  var base = Date.now() - performance.now();
  var hidden = false;
  document.addEventListener("visibilitychange", function () { if (document.hidden) hidden = true; else { beat(); hold(); } });

  function clock(v) {
    var shift = Date.now() - performance.now() - base;
    var slept = hidden && shift > 0;
    if (!document.hidden) hidden = false;
    if (Math.abs(shift) < JUMP) return;
    base += shift;
    pg.running(v).forEach(function (timer) {
      store.put({
        kind: "clock", id: timer.start.id + ":clock:" + timer.clocks.length, start: timer.start.id, timer: timer.start.timer,
        delta: slept ? 0 : shift, jump: shift, how: slept ? "slept" : "changed"
      });
    });
  }

  /* ---------- signals ---------- */

  function arm() {
    try {
      if (!sound) sound = new (window.AudioContext || window.webkitAudioContext)();
      if (sound.state === "suspended") sound.resume();
    } catch (error) { sound = null; }
  }

  function signal(grave, words) {
    ui.tell(words);
    if (navigator.vibrate) { try { navigator.vibrate(grave ? [400, 150, 400, 150, 400] : [250, 150, 250]); } catch (error) { /* not allowed here */ } }
    if (!sound) return;
    try {
      for (var i = 0; i < (grave ? 5 : 2); i += 1) {
        var tone = sound.createOscillator();
        var volume = sound.createGain();
        var at = sound.currentTime + i * 0.45;
        tone.frequency.value = grave ? 1400 : 880;
        volume.gain.value = 0.4;
        tone.connect(volume).connect(sound.destination);
        tone.start(at);
        tone.stop(at + 0.25);
      }
    } catch (error) { /* silent: the words stand on the page */ }
  }

  function hold() {
    var wanted = store.state.ready && pg.running(pg.view()).length > 0 && !document.hidden;
    if (!wanted) {
      if (awake) { awake.release().catch(function () {}); awake = null; }
      return;
    }
    if (awake || asking || !navigator.wakeLock) return;
    asking = true;
    navigator.wakeLock.request("screen").then(function (lock) {
      asking = false;
      awake = lock;
      lock.addEventListener("release", function () { if (awake === lock) awake = null; });
      hold(); /* the timer may have been stopped while the phone was asked */
    }, function () { asking = false; /* the phone refuses: it may lock */ });
  }

  /* ---------- what a timer says ---------- */

  function limits(v, timer) {
    var own = data.timers[timer];
    var updates = pg.updates(v);
    var moved = updates[own.value];
    var runs = updates["fill.pump_runs"];
    var stop = updates["fill.stop_and_check_runs"];
    function end(hit, value, at) { return hit && hit.row.ends[value] ? hit.row.ends[value][at] : null; }
    var low = end(moved, own.value, 0);
    return {
      low: low === null ? own.low : low, high: low === null ? own.high : end(moved, own.value, 1),
      text: low === null ? own.text : moved.row.texts[own.value], updated: low !== null,
      runs: own.runs === null ? null : end(runs, "fill.pump_runs", 1) || own.runs,
      stop: own.stop === null ? null : end(stop, "fill.stop_and_check_runs", 0) || own.stop
    };
  }

  function runs(timer) {
    var began = timer.runs.filter(function (one) { return one.state === "begin"; });
    var ended = timer.runs.filter(function (one) { return one.state === "end"; });
    return { n: began.length, going: began.length > ended.length ? began[began.length - 1] : null };
  }

  function state(v, timer) {
    var own = data.timers[timer.start.timer];
    var limit = limits(v, timer.start.timer);
    var seconds = elapsed(timer, timer.start);
    var run = runs(timer);
    var result = { seconds: seconds, limit: limit, run: run, grave: false, level: 0, words: "" };
    if (seconds < -1) {
      result.words = ui.say("timer.before_start");
      result.level = 1;
    } else if (limit.stop !== null) {
      if (run.n > limit.stop || (run.n === limit.stop && !run.going)) {
        result.words = ui.say("timer.stop_now", { n: run.n, stop: limit.stop });
        result.grave = true;
        result.level = 3;
      } else if (run.n > limit.runs) {
        result.words = ui.say("timer.more_runs", { n: run.n, runs: limit.runs, stop: limit.stop });
        result.level = 2;
      } else {
        result.words = ui.say("timer.run_count", { n: run.n, runs: limit.runs, stop: limit.stop });
      }
      if (run.going && own.timeout) {
        result.runSeconds = elapsed(timer, run.going);
        if (result.runSeconds >= own.timeout) {
          result.words = ui.say("timer.run_out", { n: run.n, timeout: own.timeout_text }) + " " + result.words;
          result.level = Math.max(result.level, 2.5 + run.n / 1000);
        }
      }
    } else if (seconds >= limit.high) {
      result.words = ui.say("timer.longest_over", { expected: limit.text });
      result.level = 2;
    } else if (seconds >= limit.low) {
      result.words = ui.say("timer.from_now", { expected: limit.text });
      result.level = 1;
    } else result.words = ui.say("timer.waiting", { expected: limit.text });
    return result;
  }

  /* The curve's rows on both sides of now; nothing between is made up. */
  function curve(own, seconds) {
    var rows = own.curve || [];
    var after = rows.filter(function (row) { return row.at > seconds; })[0];
    var before = rows.filter(function (row) { return row.at <= seconds; }).pop();
    return [before, after].filter(Boolean).map(function (row) {
      return ui.say("timer.curve", { at: ui.watch(row.at), texts: row.texts.join(" · ") });
    });
  }

  /* ---------- acts ---------- */

  function begin(id) {
    var own = data.timers[id];
    var start = store.id();
    arm();
    store.put({ kind: "start", id: start, timer: id, step: own.step, at: Date.now() }).then(hold);
    if (own.stop !== null) store.put({ kind: "run", timer: id, start: start, state: "begin", at: Date.now() });
  }

  function nextRun(timer, v) {
    var limit = limits(v, timer.start.timer);
    var run = runs(timer);
    arm();
    var go = function (yes) {
      if (yes) store.put({ kind: "run", timer: timer.start.timer, start: timer.start.id, state: "begin", at: Date.now() });
    };
    if (limit.stop !== null && run.n >= limit.stop) {
      ui.ask({
        title: ui.say("timer.beyond_title", { n: run.n }), lines: [ui.say("timer.beyond")], yes: ui.say("timer.beyond_yes"), grave: true
      }).then(go);
    } else go(true);
  }

  function endRun(timer) {
    store.put({ kind: "run", timer: timer.start.timer, start: timer.start.id, state: "end", at: Date.now() });
  }

  function end(timer) {
    var own = data.timers[timer.start.timer];
    var seconds = Math.max(0, elapsed(timer, timer.start));
    store.put({
      kind: "stop", timer: timer.start.timer, step: own.step, start: timer.start.id, at: Date.now(),
      elapsed: Math.round(seconds * 10) / 10, runs: timer.runs.length ? runs(timer).n : undefined
    }).then(hold);
    measured(own.step, own.value, ui.watch(seconds));
    if (timer.runs.length) measured(own.step, "fill.pump_runs", String(runs(timer).n));
  }

  /* A reading of the same figure in the same step finds it typed in already; it is still the reader who keeps it. */
  function measured(step, value, typed) {
    window.dispatchEvent(new CustomEvent("procgen:measured", { detail: { step: step, value: value, typed: typed } }));
  }

  /* ---------- faces ---------- */

  function room(node) {
    var id = node.getAttribute("data-of");
    var own = data.timers[id];
    if (!own) return null;
    var face = ui.el("p", { class: "clock", role: "timer", "aria-live": "off" });
    var runFace = ui.el("p", { class: "run-clock" });
    var words = ui.el("p", { class: "timer-words" });
    var more = ui.el("div", { class: "timer-more" });
    var acts = ui.el("div", { class: "acts" });
    var shape = "";
    ui.fill(node, [face, runFace, words, acts, more]);

    return function (v) {
      var mine = Object.keys(v.timers).map(function (key) { return v.timers[key]; }).filter(function (one) { return one.start.timer === id; });
      var timer = mine.filter(function (one) { return !one.stop; }).pop();
      var last = mine.filter(function (one) { return one.stop; }).pop();
      var box = node.closest(".timer");
      if (!timer) {
        face.textContent = last ? ui.watch(last.stop.elapsed) : "0:00";
        words.textContent = last ? ui.say(last.stop.runs ? "timer.took_runs" : "timer.took", { n: last.stop.runs, time: ui.when(last.stop.time) }) : ui.say("timer.help");
      }
      var now = timer && state(v, timer);
      if (now) {
        face.textContent = ui.watch(now.seconds);
        if (words.textContent !== now.words) words.textContent = now.words;
      }
      runFace.textContent = now && now.runSeconds !== undefined ? ui.say("timer.run_face", { n: now.run.n, at: ui.watch(now.runSeconds), of: ui.watch(own.timeout) }) : "";
      if (box) {
        box.classList.toggle("is-running", Boolean(timer));
        box.classList.toggle("is-moved", limits(v, id).updated);
        box.classList.toggle("is-grave", Boolean(now && now.grave));
        box.classList.toggle("is-over", Boolean(now && !now.grave && now.level >= 2));
      }
      var key = !timer ? (last ? "again" : "start") : now.run.going ? "run" + now.run.n : "wait" + now.run.n;
      if (key !== shape) {
        shape = key;
        ui.fill(acts, timer ? running(timer, v, now) : [ui.button(ui.say(last ? "timer.start_again" : own.stop === null ? "timer.start" : "timer.start_run"), "act--do", function () { begin(id); })]);
      }
      var limit = limits(v, id);
      var moved = limit.updated ? [ui.el("p", { class: "now-is", text: ui.say(limit.stop === null ? "timer.updated" : "timer.updated_runs", { expected: limit.text, runs: limit.runs, stop: limit.stop }) })] : [];
      ui.fill(more, moved.concat((timer ? curve(own, now.seconds) : []).map(function (line) { return ui.el("p", { class: "curve", text: line }); }),
        (timer || last || { clocks: [] }).clocks.map(function (one) {
          return ui.el("p", { class: "clock-note", text: ui.say("timer." + one.how + (one.jump > 0 ? "_ahead" : "_back"), { by: ui.watch(Math.abs(one.jump) / 1000), time: ui.when(one.time) }) });
        })
      ));
    };

    function running(timer, v, now) {
      var stop = ui.button(ui.say(own.stop === null ? "timer.stop" : "timer.reached"), own.stop === null ? "act--do" : "", function () { end(timer); });
      if (own.stop === null) return [stop];
      var run = now.run.going ? ui.button(ui.say("timer.run_ended", { n: now.run.n }), "act--do", function () { endRun(timer); }) :
        ui.button(ui.say("timer.next_run", { n: now.run.n + 1 }), "act--do", function () { nextRun(pg.view().timers[timer.start.id], pg.view()); });
      return [run, stop];
    }
  }

  /* The small bar that shows running timers on every page. */
  var bar = null;
  function strip(v, list) {
    if (!list.length) {
      if (bar) { bar.remove(); bar = null; document.body.classList.remove("has-timer-bar"); }
      return;
    }
    if (!bar) {
      bar = ui.el("nav", { class: "timer-bar", "aria-label": ui.say("timer.bar") });
      document.body.append(bar);
      document.body.classList.add("has-timer-bar");
    }
    list.forEach(function (timer, at) {
      var own = data.timers[timer.start.timer];
      var item = data.items[own.step];
      var now = state(v, timer);
      var link = bar.children[at];
      if (!link || link.dataset.timer !== timer.start.id) {
        link = ui.el("a", { href: item.page + "#" + item.anchor, "data-timer": timer.start.id }, [ui.el("span", { class: "bar-clock" }), ui.el("span", { class: "bar-name" })]);
        if (bar.children[at]) bar.children[at].replaceWith(link); else bar.append(link);
      }
      link.className = now.grave ? "is-grave" : now.level >= 2 ? "is-over" : "";
      link.firstChild.textContent = now.runSeconds === undefined ? ui.watch(now.seconds) : ui.watch(now.runSeconds) + " / " + ui.watch(own.timeout);
      link.lastChild.textContent = own.label + (now.level >= 1 ? ": " + now.words : now.run.n ? ": " + ui.say("timer.run_n", { n: now.run.n }) : "");
    });
    while (bar.children.length > list.length) bar.lastChild.remove();
  }

  var rooms = ui.rooms("timer").map(room).filter(Boolean);
  var levels = {};
  function beat() {
    if (!store.state.ready) return;
    var v = pg.view();
    clock(v);
    var list = pg.running(v);
    strip(v, list);
    rooms.forEach(function (render) { render(v); });
    list.forEach(function (timer) {
      var now = state(v, timer);
      var before = levels[timer.start.id];
      /* Only what comes about while the page is open is signalled; the rest stands there in words. */
      if (before !== undefined && now.level > before) signal(now.level >= 2, data.timers[timer.start.timer].label + ": " + now.words);
      levels[timer.start.id] = now.level;
    });
  }
  pg.watch(function () { beat(); hold(); });
  window.setInterval(beat, 500);
  /* Sound may start with a tap only; on a page opened later the first tap does it. */
  document.addEventListener("pointerdown", function () { if (store.state.ready && pg.running(pg.view()).length) arm(); }, { passive: true });
});
