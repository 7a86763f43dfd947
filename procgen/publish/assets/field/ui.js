/* What all scripts of the doing side share: words, elements, questions, the time of day. Classic, no dependency. */
procgen.part(function (data, pg) {
  "use strict";
  var ui = pg.ui = {};
  var live = null;

  /* The words of an id, its places filled; with n, the form for one or for many. */
  ui.say = function (key, params) {
    var words = data.ui[key];
    if (words === undefined && params && "n" in params) words = data.ui[key + (params.n === 1 ? ".one" : ".other")];
    if (words === undefined) return key;
    return words.replace(/\{(\w+)\}/g, function (all, name) {
      return params && params[name] !== undefined && params[name] !== null ? String(params[name]) : "";
    });
  };

  /* An element. Text is always text: nothing that was typed is ever read as markup. */
  ui.el = function (tag, props, children) {
    var node = document.createElement(tag);
    Object.keys(props || {}).forEach(function (name) {
      var value = props[name];
      if (value === null || value === undefined || value === false) return;
      if (name === "class") node.className = value;
      else if (name === "text") node.textContent = value;
      else if (name.slice(0, 2) === "on") node.addEventListener(name.slice(2), value);
      else node.setAttribute(name, value === true ? "" : value);
    });
    [].concat(children || []).forEach(function (child) {
      if (child !== null && child !== undefined && child !== false) node.append(child);
    });
    return node;
  };

  ui.button = function (words, css, act, props) {
    return ui.el("button", Object.assign({ type: "button", class: "act " + (css || ""), text: words, onclick: act }, props));
  };

  ui.fill = function (node, children) {
    node.replaceChildren.apply(node, [].concat(children).filter(Boolean));
    return node;
  };

  /* One number of ids for labels on this page. */
  var count = 0;
  ui.id = function () { count += 1; return "pf-" + count; };

  ui.field = function (label, props, hint) {
    var id = ui.id();
    var input = ui.el(props && props.rows ? "textarea" : "input", Object.assign({ id: id, autocomplete: "off" }, props));
    if (props && props.value) input.value = props.value;
    var node = ui.el("div", { class: "ask" }, [ui.el("label", { for: id, text: label }), input]);
    if (hint) {
      input.setAttribute("aria-describedby", id + "-h");
      node.append(ui.el("p", { class: "hint", id: id + "-h", text: hint }));
    }
    return { node: node, input: input };
  };

  /* Said once to a screen reader, shown nowhere. */
  ui.tell = function (text) {
    if (!live) {
      live = ui.el("div", { class: "field-live", role: "status", "aria-live": "polite" });
      document.body.append(live);
    }
    live.textContent = "";
    window.setTimeout(function () { live.textContent = text; }, 60);
  };

  /* A question. Gives true or false; with `check`, which may refuse by giving words, what it gave. */
  ui.ask = function (options) {
    return new Promise(function (resolve) {
      var title = ui.id();
      var back = document.activeElement;
      var wrong = ui.el("p", { class: "wrong", role: "alert" });
      var done = function (answer) {
        box.remove();
        if (back && back.isConnected) back.focus({ preventScroll: true });
        resolve(answer);
      };
      var form = ui.el("form", {
        method: "dialog",
        novalidate: true,
        onsubmit: function (event) {
          event.preventDefault();
          var refused = options.check ? options.check() : "";
          if (refused) { wrong.textContent = refused; return; }
          done(true);
        }
      }, [ui.el("h2", { id: title, text: options.title })].concat(
        (options.lines || []).map(function (line) {
          return typeof line === "string" ? ui.el("p", { text: line }) : line;
        }),
        [wrong, ui.el("div", { class: "acts" }, [
          ui.el("button", { type: "submit", class: "act act--do" + (options.grave ? " act--grave" : ""), text: options.yes }),
          options.also ? ui.button(options.also, "", function () { done("also"); }) : null,
          ui.button(options.no || ui.say("cancel"), "", function () { done(false); })
        ])]
      ));
      var box = ui.el("dialog", { class: "field-dialog", "aria-labelledby": title }, [form]);
      box.addEventListener("cancel", function (event) { event.preventDefault(); done(false); });
      document.body.append(box);
      if (box.showModal) box.showModal(); else box.setAttribute("open", "");
      var first = form.querySelector("input, textarea, select");
      if (first) first.focus();
    });
  };

  function two(number) { return (number < 10 ? "0" : "") + number; }

  /* A moment as it is written into the record: local time with its offset, to the millisecond. */
  ui.stamp = function (ms) {
    var at = new Date(ms === undefined ? Date.now() : ms);
    var offset = -at.getTimezoneOffset();
    var size = Math.abs(offset);
    return at.getFullYear() + "-" + two(at.getMonth() + 1) + "-" + two(at.getDate()) + "T" + two(at.getHours()) + ":" +
      two(at.getMinutes()) + ":" + two(at.getSeconds()) + "." + ("00" + at.getMilliseconds()).slice(-3) +
      (offset < 0 ? "-" : "+") + two(Math.floor(size / 60)) + ":" + two(size % 60);
  };

  /* As written where it was written: the phone that reads it may stand in another zone. */
  ui.when = function (stamp) {
    var today = ui.stamp().slice(0, 10) === stamp.slice(0, 10);
    return (today ? "" : stamp.slice(0, 10) + " ") + stamp.slice(11, 16);
  };

  ui.watch = function (seconds) {
    var whole = Math.max(0, Math.floor(seconds));
    var hours = Math.floor(whole / 3600);
    return (hours ? hours + ":" : "") + (hours ? two(Math.floor(whole / 60) % 60) : Math.floor(whole / 60)) + ":" + two(whole % 60);
  };

  ui.rooms = function (kind) {
    return Array.prototype.slice.call(document.querySelectorAll("[data-field='" + kind + "']"));
  };

  ui.item = function (id) { return data.items[id]; };
  ui.named = function (id) { var item = data.items[id]; return item ? item.n + " " + item.title : id; };
  ui.link = function (id) {
    var item = data.items[id];
    return item ? ui.el("a", { href: item.page + "#" + item.anchor, text: ui.named(id) }) : document.createTextNode(id);
  };
});
