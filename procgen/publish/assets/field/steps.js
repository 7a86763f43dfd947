/* Steps: the tick, the remark, the photo; how far the work is; what must be known before the first tick. */
procgen.part(function (data, pg, ui, store) {
  "use strict";
  var PHOTO_SIDE = 1600;
  var PHOTO_MOST = 8;

  /* ---------- one step ---------- */

  function step(node) {
    var id = node.getAttribute("data-of");
    var item = data.items[id];
    if (!item) return null;
    var name = item.n + " " + item.title;
    var state = ui.el("p", { class: "tick-state", role: "status", "aria-live": "polite" });
    var mark = ui.el("span", { class: "tick-box", "aria-hidden": "true" });
    var text = ui.el("span", { class: "tick-text" });
    var button = ui.el("button", { type: "button", class: "tick", "aria-pressed": "false", disabled: true, onclick: tap }, [mark, text]);
    var remark = remarkField(id, ui.say("remark.label"));
    var photos = ui.el("div", { class: "photos" });
    var file = ui.el("input", { type: "file", accept: "image/*", capture: "environment", class: "vh", tabindex: "-1", "aria-label": ui.say("photo.add") + ": " + name });
    file.addEventListener("change", function () { if (file.files[0]) photo(file.files[0], id).then(function () { file.value = ""; }); });
    ui.fill(node, [
      button, state,
      ui.el("details", { class: "more" }, [
        ui.el("summary", { text: ui.say("remark.more") }), remark.node,
        ui.el("p", { class: "acts" }, [ui.button(ui.say("photo.add"), "", function () { file.click(); }), file]), photos
      ])
    ]);
    text.textContent = ui.say("tick.do", { name: name });

    function tap() {
      var v = pg.view();
      if (v.items[id].done) {
        store.put({ kind: "untick", step: id });
        ui.tell(ui.say("tick.undone", { name: name }));
        return;
      }
      var open = pg.blockedBy(v, id);
      if (open) { ui.tell(blockedWords(open)); state.scrollIntoView({ block: "nearest" }); return; }
      var odd = pg.unsettled(v, [id]);
      var go = function (yes) {
        if (!yes) return;
        if (navigator.vibrate) { try { navigator.vibrate(20); } catch (error) { /* not allowed */ } }
        store.put(Object.assign({ kind: "tick", step: id, print: item.print }, odd.length ? { open: odd } : {}));
        ui.tell(ui.say("tick.done_now", { name: name }));
      };
      if (!odd.length) { go(true); return; }
      ui.ask({ title: ui.say("tick.unsettled"), lines: odd.map(unsettledWords), yes: ui.say("tick.anyway") }).then(go);
    }

    return function (v) {
      var mine = v.items[id];
      var open = pg.blockedBy(v, id);
      var article = node.closest("[data-step]");
      button.disabled = false;
      button.setAttribute("aria-pressed", String(mine.done));
      if (open && !mine.done) button.setAttribute("aria-disabled", "true"); else button.removeAttribute("aria-disabled");
      text.textContent = ui.say(mine.done ? "tick.done" : "tick.do", { name: name });
      var lines = [];
      if (mine.done) lines.push(ui.say("tick.at", { time: ui.when(mine.entry.time) }));
      if (mine.flagged) lines.push(ui.say("tick.flagged", { hold: ui.named(open) }));
      else if (open) lines.push(blockedWords(open));
      if (mine.changed) lines.push(ui.say("tick.changed", { edition: mine.changed.edition, time: ui.when(mine.changed.time) }));
      if (!mine.done && mine.entry && mine.entry.kind === "untick") lines.push(ui.say("tick.taken_back", { time: ui.when(mine.entry.time) }));
      var words = lines.join(" ");
      if (state.textContent !== words) state.textContent = words;
      state.className = "tick-state" + (mine.flagged || mine.changed ? " is-odd" : open ? " is-blocked" : "");
      article.classList.toggle("is-done", mine.done);
      article.classList.toggle("is-blocked", Boolean(open));
      var heading = document.getElementById(item.anchor);
      if (heading) heading.classList.toggle("is-done", mine.done);
      remark.show(v);
      showPhotos(v);
    };

    function showPhotos(v) {
      var mine = v.photos.filter(function (one) { return one.step === id; });
      if (photos.dataset.shown === String(mine.length)) return;
      photos.dataset.shown = String(mine.length);
      ui.fill(photos, mine.map(function (one) { return picture(one); }));
    }
  }

  function blockedWords(open) {
    return ui.say("tick.blocked", { hold: ui.named(open), role: data.roles[data.items[open].role] });
  }
  pg.blockedWords = blockedWords;

  /* Readings of some steps that are missing, or outside their limits at the last measurement. */
  pg.unsettled = function (v, steps) {
    return Object.keys(data.readings).filter(function (id) {
      if (steps.indexOf(data.readings[id].step) < 0) return false;
      var last = pg.lastReading(v, id);
      return !last || pg.measure.bad(pg.verdictNow(last));
    });
  };

  function unsettledWords(id) {
    var last = pg.lastReading(pg.view(), id);
    return data.readings[id].label + ": " + (last ? last.typed + " " + last.unit + ". " + pg.verdictWords(id, pg.verdictNow(last)) : ui.say("reading.missing"));
  }
  pg.unsettledWords = unsettledWords;

  /* A remark is kept with every letter. Each phone has its own; those of others stand above it. */
  function remarkField(id, label) {
    function own() { return "remark:" + id + ":" + store.device; }
    var field = ui.field(label, { rows: 2, class: "remark" });
    var others = ui.el("div", { class: "other-remarks" });
    field.node.prepend(others);
    field.input.addEventListener("input", function () {
      store.put({ kind: "remark", id: own(), step: id || null, text: field.input.value });
    });
    return {
      node: field.node,
      show: function (v) {
        var list = v.remarks[id] || [];
        var mine = list.filter(function (one) { return one.id === own(); })[0];
        if (document.activeElement !== field.input) field.input.value = mine ? mine.text : "";
        var rest = list.filter(function (one) { return one.id !== own(); });
        ui.fill(others, rest.map(function (one) { return ui.el("p", { text: one.text + " (" + ui.when(one.time) + ")" }); }));
        var details = field.node.closest("details");
        if (details && list.length && !details.dataset.opened) { details.dataset.opened = "1"; details.open = true; }
      }
    };
  }
  pg.remarkField = remarkField;

  /* ---------- photos: made smaller, kept as files in the record ---------- */

  function photo(file, id) {
    return shrink(file).then(function (small) {
      if (small.size > PHOTO_MOST * 1e6) throw new Error("size");
      return store.put({ kind: "photo", step: id, name: file.name || "photo", type: small.type, size: small.size, data: small });
    }).then(function () { ui.tell(ui.say("photo.kept")); }, function () {
      return ui.ask({ title: ui.say("photo.failed"), lines: [ui.say("photo.limit", { n: PHOTO_MOST })], yes: ui.say("ok") });
    });
  }

  function shrink(file) {
    if (!window.createImageBitmap) return Promise.resolve(file);
    return createImageBitmap(file).then(function (image) {
      var scale = Math.min(1, PHOTO_SIDE / Math.max(image.width, image.height));
      var canvas = ui.el("canvas", { width: Math.round(image.width * scale), height: Math.round(image.height * scale) });
      canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
      return new Promise(function (resolve, reject) {
        canvas.toBlob(function (made) { if (made) resolve(made); else reject(new Error("image")); }, "image/jpeg", 0.8);
      });
    });
  }

  function picture(entry) {
    var url = entry.data instanceof Blob ? URL.createObjectURL(entry.data) : /^data:image\//.test(entry.data) ? entry.data : "";
    return ui.el("figure", { class: "photo" }, [
      ui.el("img", { src: url, alt: ui.say("photo.alt", { name: ui.named(entry.step), time: ui.when(entry.time) }) }),
      ui.button(ui.say("photo.remove"), "", function () {
        ui.ask({ title: ui.say("photo.remove_sure"), yes: ui.say("photo.remove") }).then(function (yes) {
          if (yes) store.put({ kind: "remove", ref: entry.id });
        });
      })
    ]);
  }
  pg.picture = picture;

  /* ---------- how far the work is ---------- */

  function progress(v) {
    document.querySelectorAll("[data-progress]").forEach(function (node) {
      var part = data.parts.filter(function (one) { return String(one.n) === node.getAttribute("data-progress"); })[0];
      count(node, v, part);
    });
    ui.rooms("progress").forEach(function (node) { count(node, v, part(node)); });
    ui.rooms("part").forEach(function (node) {
      var mine = part(node);
      var p = pg.progress(v, mine.items);
      var bar = node.querySelector("progress") || node.appendChild(ui.el("progress", { max: p.n, "aria-label": ui.say("progress.label") }));
      bar.value = p.done;
      var text = node.querySelector("p") || node.appendChild(ui.el("p"));
      text.textContent = ui.say("progress.part", { done: p.done, n: p.n });
    });
  }
  function part(node) {
    return data.parts.filter(function (one) { return one.id === node.getAttribute("data-of"); })[0];
  }
  function count(node, v, mine) {
    if (!mine || !mine.items.length) return;
    var p = pg.progress(v, mine.items);
    node.classList.toggle("is-all", p.done === p.n);
    ui.fill(node, [
      ui.el("span", { "aria-hidden": "true", text: (p.done === p.n ? "✓ " : "") + p.done + "/" + p.n }),
      ui.el("span", { class: "vh", text: ui.say("progress.part", { done: p.done, n: p.n }) })
    ]);
  }

  function start(node) {
    return function (v) {
      var next = pg.next(v);
      var all = pg.progress(v, pg.order);
      var item = data.items[next.id];
      ui.fill(node, [
        item ? ui.el("a", { class: "go-on", href: item.page + "#" + item.anchor }, [
          ui.el("span", { class: "go-on__head", text: ui.say(next.started ? "progress.go_on" : "progress.begin") }),
          ui.el("span", { class: "go-on__step", text: ui.named(next.id) })
        ]) : ui.el("p", { class: "go-on go-on--all", text: ui.say("progress.all_done") }),
        ui.el("p", { class: "go-on__count", text: ui.say("progress.all", { done: all.done, n: all.n }) + (item && next.left.length ? " " + ui.say("progress.left", { n: next.left.length, first: ui.named(next.left[0]) }) : "") })
      ].concat(pg.storageWords().map(function (words) { return ui.el("p", { class: "go-on__kept", text: words }); })));
    };
  }

  /* ---------- what must be known before the first tick ---------- */

  pg.storageWords = function () {
    var s = store.state;
    var lines = [ui.say("kept." + s.tier)];
    if (s.tier === "database" && s.persisted === false) lines.push(ui.say("kept.not_persistent"));
    return lines;
  };

  var warning = null;
  function warn(v) {
    var s = store.state;
    var lines = [];
    if (s.tier === "memory") lines.push(ui.say("kept.memory"));
    if (s.tier === "small") lines.push(ui.say("kept.small"));
    if (s.unsaved) lines.push(ui.say("kept.full", { n: s.unsaved }));
    if (s.aside) lines.push(ui.say("kept.aside", { n: s.aside }));
    var news = v.carried.filter(function (entry) { return (entry.kind === "carry" || entry.of_edition !== store.edition) && !seen(entry); }).pop();
    if (!lines.length && !news) { if (warning) { warning.remove(); warning = null; } return; }
    if (!warning) {
      warning = ui.el("div", { class: "field-warning", role: "alert" });
      var main = document.querySelector(".md-content__inner") || document.body;
      main.prepend(warning);
    }
    var children = lines.map(function (line) { return ui.el("p", { text: line }); });
    if (news) {
      children.push(ui.el("p", { text: ui.say(news.kind === "carry" ? "carry.came" : "carry.received", { edition: news.kind === "carry" ? news.from : news.of_edition, n: news.entries }) }));
      if (news.dropped && news.dropped.length) {
        children.push(ui.el("p", { text: ui.say("carry.dropped", { n: news.dropped.length }) }));
        children.push(ui.el("ul", {}, news.dropped.map(function (id) { return ui.el("li", {}, [ui.link(id)]); })));
      } else children.push(ui.el("p", { text: ui.say("carry.none_dropped") }));
      children.push(ui.el("p", { class: "acts" }, [ui.button(ui.say("carry.seen"), "", function () { note(news); warn(v); })]));
    }
    if (lines.length) children.push(ui.el("p", {}, [ui.el("a", { href: "record.html#record-send", text: ui.say("kept.export") })]));
    ui.fill(warning, children);
  }
  function seen(entry) {
    try { return localStorage.getItem("procgen:seen:" + data.guide + ":" + entry.id) === store.edition; } catch (error) { return false; }
  }
  function note(entry) {
    try { localStorage.setItem("procgen:seen:" + data.guide + ":" + entry.id, store.edition); } catch (error) { /* said again next time */ }
  }

  var renders = ui.rooms("step").map(step).concat(ui.rooms("start").map(start)).filter(Boolean);
  pg.watch(function (v) {
    renders.forEach(function (render) { render(v); });
    progress(v);
    warn(v);
  });
});
