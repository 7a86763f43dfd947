/* The query side of the search: prefix and small errors, on a library loaded when the search is first used. */
(function () {
  "use strict";
  var box = document.querySelector("[data-pg-search]");
  if (!box) return;
  var input = box.querySelector("input");
  var panel = box.querySelector(".pg-search__panel");
  var status = box.querySelector(".pg-search__status");
  var list = box.querySelector(".pg-search__list");
  var LIMIT = 24;
  var engine = null;
  var documents = null;
  var loading = null;
  var active = -1;

  /* "AB-12-345" is found whole, by its pieces and without its hyphens; "2.5 L/min" by figure and by unit. */
  function tokens(text) {
    var words = text.split(/[\s()\[\]{},;:!?"'“”‘’…|]+/);
    var found = [];
    words.forEach(function (word) {
      word = word.replace(/^[.\-–—/]+|[.\-–—/]+$/g, "");
      if (!word) return;
      found.push(word);
      var pieces = word.split(/[-–—/_.·]+/).filter(Boolean);
      if (pieces.length > 1 && !/^[\d.,]+$/.test(word)) {
        pieces.forEach(function (piece, at) {
          found.push(piece);
          if (at > 0 && at < pieces.length - 1) found.push(pieces.slice(at).join("-"));
        });
        found.push(pieces.join(""));
      }
    });
    return found;
  }

  function queryTokens(text) {
    return text.split(/[\s()\[\]{},;:!?"'“”‘’…|]+/)
      .map(function (word) { return word.replace(/^[.\-–—/]+|[.\-–—/]+$/g, ""); })
      .filter(Boolean);
  }

  function fold(term) {
    return term.toLowerCase().normalize("NFKD").replace(/[\u0300-\u036f]/g, "");
  }

  function script(source) {
    return new Promise(function (resolve, reject) {
      var element = document.createElement("script");
      element.src = source;
      element.onload = resolve;
      element.onerror = function () { reject(new Error(source)); };
      document.head.appendChild(element);
    });
  }

  function load() {
    if (!loading) {
      /* In the one-file edition both stand in the page. */
      var sources = [box.dataset.engine, box.dataset.index].filter(Boolean);
      loading = Promise.all(sources.map(script)).then(function () {
        documents = self.procgenSearchData;
        engine = new self.MiniSearch({
          fields: ["t", "n", "b", "k"],
          tokenize: tokens,
          processTerm: fold,
          searchOptions: {
            boost: { t: 4, n: 6, k: 1.5 },
            combineWith: "AND",
            tokenize: queryTokens,
            prefix: true,
            /* What to do stands before how it was worked out. */
            boostDocument: function (id) { return documents[id].n ? 1.5 : 1; },
            /* No guessing at figures and part numbers: one digit off is another part. */
            fuzzy: function (term) { return /\d/.test(term) || term.length < 4 ? false : 0.2; }
          }
        });
        engine.addAll(documents.map(function (one, id) {
          return { id: id, t: one.t, n: one.n || "", b: one.b, k: one.k };
        }));
      });
      loading.catch(function () {
        loading = null;
        show([], box.dataset.failed);
      });
    }
    return loading;
  }

  /* A comma in a figure is a point; "4.8bar" is looked for as a figure and its unit where it is no name. */
  function find(typed) {
    var query = typed.replace(/(\d),(?=\d)/g, "$1.");
    var hits = engine.search(query);
    if (!hits.length) {
      query = query.replace(/(^|\s)(\d+(?:\.\d+)?)(?=[^\s\d.,:/–-])/g, "$1$2 ");
      hits = engine.search(query);
    }
    if (!hits.length && queryTokens(query).length > 1) hits = engine.search(query, { combineWith: "OR" });
    return hits;
  }

  function snippet(text, terms) {
    var at = -1;
    var lower = fold(text);
    terms.forEach(function (term) {
      var found = lower.indexOf(term);
      if (found >= 0 && (at < 0 || found < at)) at = found;
    });
    var start = Math.max(0, at - 40);
    if (start > 0) start = text.indexOf(" ", start) + 1;
    return (start > 0 ? "… " : "") + text.slice(start, start + 130) + (text.length > start + 130 ? " …" : "");
  }

  function entry(hit, place) {
    var one = documents[hit.id];
    var item = document.createElement("li");
    var link = document.createElement("a");
    var title = document.createElement("span");
    var kind = document.createElement("span");
    item.id = "pg-r-" + place;
    item.setAttribute("role", "option");
    item.setAttribute("aria-selected", "false");
    link.href = (box.dataset.base && box.dataset.base !== "." ? box.dataset.base + "/" : "") + one.u;
    link.tabIndex = -1;
    title.className = "pg-search__title";
    kind.className = "pg-search__kind";
    title.textContent = (one.n ? one.n + " " : "") + one.t;
    kind.textContent = one.k;
    link.append(title, kind);
    if (one.b) {
      var text = document.createElement("span");
      text.className = "pg-search__text";
      text.textContent = snippet(one.b, hit.terms);
      link.append(text);
    }
    item.append(link);
    return item;
  }

  function show(hits, message) {
    active = -1;
    input.removeAttribute("aria-activedescendant");
    list.replaceChildren.apply(list, hits.slice(0, LIMIT).map(entry));
    status.textContent = message;
    open(true);
  }

  function open(visible) {
    panel.hidden = !visible;
    input.setAttribute("aria-expanded", String(visible));
  }

  function search() {
    var query = input.value.trim();
    if (!query) { list.replaceChildren(); open(false); return; }
    load().then(function () {
      if (query !== input.value.trim()) return;
      var hits = find(query);
      var words = hits.length === 1 ? box.dataset.one : box.dataset.other.replace("{n}", hits.length);
      show(hits, hits.length ? words : box.dataset.none);
    }, function () {});
  }

  function choose(step) {
    var items = list.children;
    if (!items.length) return;
    if (active >= 0) items[active].setAttribute("aria-selected", "false");
    active = (active + step + items.length) % items.length;
    items[active].setAttribute("aria-selected", "true");
    items[active].scrollIntoView({ block: "nearest" });
    input.setAttribute("aria-activedescendant", items[active].id);
  }

  input.addEventListener("focus", function () { load(); if (input.value.trim()) search(); });
  input.addEventListener("input", search);
  input.addEventListener("keydown", function (event) {
    if (event.key === "ArrowDown") { event.preventDefault(); choose(1); }
    else if (event.key === "ArrowUp") { event.preventDefault(); choose(-1); }
    else if (event.key === "Escape") { if (!panel.hidden) event.preventDefault(); open(false); }
    else if (event.key === "Enter") {
      event.preventDefault();
      var item = list.children[Math.max(active, 0)];
      if (item && !panel.hidden) item.firstElementChild.click();
    }
  });
  list.addEventListener("click", function () { open(false); });
  document.addEventListener("click", function (event) { if (!box.contains(event.target)) open(false); });
  box.addEventListener("focusout", function (event) {
    if (event.relatedTarget && !box.contains(event.relatedTarget)) open(false);
  });
  document.addEventListener("keydown", function (event) {
    var typing = /^(INPUT|TEXTAREA|SELECT)$/.test(document.activeElement.tagName);
    if (event.key === "/" && !typing && !event.ctrlKey && !event.metaKey) { event.preventDefault(); input.focus(); }
  });
})();
