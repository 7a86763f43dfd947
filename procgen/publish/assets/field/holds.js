/* Hold points: confirmed by a person who gives a name; taken back only after a question. */
procgen.part(function (data, pg, ui, store) {
  "use strict";

  function room(node) {
    var id = node.getAttribute("data-of");
    var item = data.items[id];
    if (!item) return null;
    var role = data.roles[item.role];
    var state = ui.el("p", { class: "hold-state", role: "status", "aria-live": "polite" });
    var acts = ui.el("div", { class: "acts" });
    var shape = "";
    ui.fill(node, [state, acts]);

    function confirm() {
      var v = pg.view();
      var before = pg.blockedBy(v, id);
      if (before) { refuse(ui.say("hold.before", { hold: ui.named(before) }), [before]); return; }
      var open = item.guards.filter(function (step) { return !v.items[step].done; });
      if (open.length) { refuse(ui.say("hold.steps_open", { n: open.length }), open); return; }
      var known = Object.keys(v.persons).map(function (key) { return v.persons[key]; }).filter(function (one) { return one.role === item.role; }).pop();
      var name = ui.field(ui.say("hold.name", { role: role }), { type: "text", autocomplete: "name", "aria-required": "true", maxlength: 120, value: known ? known.name : "" });
      var electric = item.role === "electrician";
      var licence = electric ? ui.field(ui.say("hold.licence", { role: role }), { type: "text", maxlength: 60, value: known ? known.licence || "" : "" }, ui.say("hold.licence_hint")) : null;
      var sure = ui.el("input", { type: "checkbox", id: ui.id() });
      var check = ui.el("div", { class: "check" }, [sure, ui.el("label", { for: sure.id, text: ui.say("hold.sure", { role: role, title: item.title }) })]);
      var odd = pg.unsettled(v, item.guards);
      ui.ask({
        title: ui.say("hold.title", { title: item.n + " " + item.title }),
        lines: [ui.say("hold.what")].concat(
          odd.length ? [ui.say("hold.unsettled", { n: odd.length }), ui.el("ul", {}, odd.map(function (one) { return ui.el("li", { text: pg.unsettledWords(one) }); }))] : [],
          [name.node], licence ? [licence.node] : [], [check]
        ),
        yes: ui.say("hold.confirm"),
        check: function () {
          if (name.input.value.trim().length < 2) { name.input.focus(); return ui.say("hold.needs_name"); }
          if (!sure.checked) { sure.focus(); return ui.say("hold.needs_sure", { role: role }); }
          return "";
        }
      }).then(function (yes) {
        if (!yes) return;
        store.put({
          kind: "confirm", hold: id, print: item.print, name: name.input.value.trim(), role: item.role,
          licence: licence && licence.input.value.trim() || undefined, open: odd.length ? odd : undefined
        });
        ui.tell(ui.say("hold.confirmed", { name: name.input.value.trim(), role: role, time: ui.when(ui.stamp()) }));
      });
    }

    function refuse(words, items) {
      ui.ask({
        title: ui.say("hold.not_yet"),
        lines: [words, ui.el("ul", {}, items.slice(0, 12).map(function (one) { return ui.el("li", {}, [ui.link(one)]); }))],
        yes: ui.say("ok")
      });
    }

    function takeBack() {
      var v = pg.view();
      var later = pg.order.filter(function (one, at) { return at > pg.order.indexOf(id) && v.items[one].done; });
      ui.ask({
        title: ui.say("hold.take_back_sure"), lines: [ui.say("hold.later", { n: later.length })], yes: ui.say("hold.take_back"), grave: true
      }).then(function (yes) {
        if (!yes) return;
        store.put({ kind: "unconfirm", hold: id });
        ui.tell(ui.say("hold.taken_back", { time: ui.when(ui.stamp()) }));
      });
    }

    return function (v) {
      var mine = v.items[id];
      var open = item.guards.filter(function (step) { return !v.items[step].done; });
      var before = pg.blockedBy(v, id);
      var lines = [];
      if (mine.done) {
        lines.push(ui.say("hold.confirmed", { name: mine.entry.name, role: role, time: ui.when(mine.entry.time) }));
        if (mine.entry.licence) lines.push(ui.say("hold.licence_is", { licence: mine.entry.licence }));
        if (open.length) lines.push(ui.say("hold.step_taken_back", { first: ui.named(open[0]) }));
        if (mine.flagged) lines.push(ui.say("tick.flagged", { hold: ui.named(before) }));
      } else if (mine.changed) lines.push(ui.say("hold.changed", { name: mine.changed.name, edition: mine.changed.edition }));
      else if (mine.entry) lines.push(ui.say("hold.taken_back", { time: ui.when(mine.entry.time) }));
      if (!mine.done) lines.push(before ? ui.say("hold.before", { hold: ui.named(before) }) : open.length ? ui.say("hold.steps_open", { n: open.length }) : ui.say(item.role === "electrician" ? "hold.may_electric" : "hold.may", { role: role }));
      var words = lines.join(" ");
      if (state.textContent !== words) state.textContent = words;
      var odd = mine.flagged || (mine.done && open.length > 0);
      state.className = "hold-state" + (odd || mine.changed ? " is-odd" : mine.done ? " is-good" : "");
      if (shape !== String(mine.done)) {
        shape = String(mine.done);
        ui.fill(acts, [mine.done ? ui.button(ui.say("hold.take_back"), "", takeBack) : ui.button(ui.say("hold.confirm_by", { role: role }), "act--do act--hold", confirm)]);
      }
      var heading = document.getElementById(item.anchor);
      if (heading) heading.classList.toggle("is-done", mine.done);
      node.closest("[data-hold]").classList.toggle("is-done", mine.done);
    };
  }

  var renders = ui.rooms("hold").map(room).filter(Boolean);
  pg.watch(function (v) { renders.forEach(function (render) { render(v); }); });
});
