/* Has this guide kept on the phone and says plainly how that stands. Classic script, no dependency.
   The words stand in the page; the worker (sw.js) does the keeping. */
(function () {
  "use strict";
  var box = document.querySelector("[data-pg-keep]");
  if (!box) return;
  var news = box.querySelector(".keep__new");
  var again = box.querySelector(".keep__again");
  var showNews = box.querySelector(".keep__show");
  var edition = box.dataset.edition;
  var root = new URL((box.dataset.root || ".") + "/", location.href).href;
  var MARKS = "procgen|" + root + "|mark";
  var worker = null, store = null;
  try { worker = navigator.serviceWorker; store = window.caches; } catch (error) { /* a closed frame: none */ }
  var other = null;
  var held = false; /* an edition is kept whole */

  function all(selector, act) { Array.prototype.forEach.call(document.querySelectorAll(selector), act); }

  function say(state, facts) {
    box.dataset.state = state;
    /* Nobody wants every count read aloud. */
    box.querySelector("[role=status]").setAttribute("aria-busy", String(state === "keeping"));
    Object.keys(facts || {}).forEach(function (name) {
      all("[data-pg-keep] [data-" + name + "]", function (place) { place.textContent = facts[name]; });
    });
    all("[data-pg-keep] [data-when]", function (line) { line.hidden = line.dataset.when !== state; });
    var good = /^(kept|newer|single|folder|preview|start|keeping)$/.test(state);
    box.querySelector(".keep__how").hidden = good;
    again.hidden = !/^(broken|full)$/.test(state);
    if (state === "kept" && navigator.storage && navigator.storage.persisted) {
      navigator.storage.persisted().then(function (fast) {
        if (box.dataset.state === "kept") box.querySelector("[data-when=loose]").hidden = fast;
      }, function () {});
    }
  }

  /* ---------- what is kept ---------- */

  function marked(cache, mark) {
    return caches.has(cache).then(function (there) {
      return there ? caches.open(cache).then(function (open) { return open.match(root + mark); }) : undefined;
    }).then(function (found) { return found ? found.json() : null; });
  }

  function whole(cache) {
    return marked(cache, "?whole").then(function (mark) { return mark && { cache: cache, edition: mark.edition }; });
  }

  /* {chosen, other}: the edition that answers, and another one that is here whole and waits. */
  function look() {
    return marked(MARKS, "?chosen").then(function (mark) {
      return Promise.all([mark ? whole(mark.cache) : null, caches.keys()]);
    }).then(function (found) {
      var chosen = found[0];
      var names = found[1].filter(function (name) {
        return name.indexOf("procgen|" + root + "|") === 0 && name !== MARKS && !(chosen && name === chosen.cache);
      });
      return Promise.all(names.map(whole)).then(function (rest) {
        return { chosen: chosen, other: rest.filter(Boolean).pop() || null };
      });
    });
  }

  function tellHowItStands() {
    return look().then(function (kept) {
      if (!kept.chosen) return kept;
      held = true;
      say("kept");
      /* A page from before the keeping may be of another edition than the one kept: that one waits likewise. */
      other = kept.chosen.edition !== edition ? kept.chosen : kept.other;
      if (other && other.edition !== edition) announce();
      else { other = null; news.hidden = showNews.hidden = true; }
      return kept;
    });
  }

  /* ---------- keeping ---------- */

  function published() {
    return fetch(root + "edition.json?published", { cache: "no-store" })
      .then(function (answer) { return answer.ok ? answer.json() : null; })
      .then(function (found) { return found && found.edition; })
      .catch(function () { return null; });
  }

  function register(name) {
    return worker.register(root + box.dataset.worker + "?" + name, { scope: root, updateViaCache: "none" });
  }

  function refused(error) {
    say(error && error.name === "QuotaExceededError" ? "full"
      : error && error.name === "SecurityError" ? "refused" : "broken");
  }

  function watch(registration) {
    var coming = registration && registration.installing;
    if (!coming) return;
    coming.addEventListener("statechange", function () {
      /* The worker's own reason may come before this or after. */
      if (coming.state === "redundant" && box.dataset.state === "keeping") say("broken");
    });
  }

  function keep() {
    return tellHowItStands().then(function (kept) {
      if (!kept.chosen) {
        held = false;
        say("keeping", { done: 0, of: "…" });
        /* A name of its own for each edition: a copy of another one in the browser's cache is not asked. */
        return worker.getRegistration(root).then(function (found) {
          return register(found && found.active ? edition + "-" + Date.now() : edition);
        }).then(watch);
      }
      return Promise.all([published(), worker.getRegistration(root)]).then(function (found) {
        /* What waited has been taken back. */
        if (kept.other && found[0] === kept.chosen.edition) {
          return caches.delete(kept.other.cache).then(tellHowItStands);
        }
        var known = [kept.chosen, kept.other].some(function (one) { return one && one.edition === found[0]; });
        /* Times of files do not tell which edition is published (one may be taken back): its name does. */
        if (found[0] && !known) return register(found[0] + "-" + Date.now());
        if (found[1]) return found[1].update().catch(function () { /* no network: what is kept stays */ });
        return found[0] ? register(edition) : null;
      });
    });
  }

  function heard(event) {
    var message = event.data || {};
    if (message.type === "progress" && box.dataset.state === "keeping") {
      say("keeping", { done: message.done, of: message.of });
    } else if (message.type === "failed") {
      if (!held) say(message.why === "full" ? "full" : "broken");
      else if (message.edition !== edition) say("newer", { other: message.edition });
    } else if (message.type === "ready") {
      var first = !held;
      tellHowItStands();
      if (first && navigator.storage && navigator.storage.persist) {
        navigator.storage.persist().then(tellHowItStands, function () {});
      }
    } else if (message.type === "changed") reload();
  }

  /* ---------- another edition ---------- */

  function line(list, text) {
    var item = document.createElement("li");
    item.textContent = text;
    list.append(item);
  }

  function group(title, lines) {
    var LIMIT = 8;
    if (!lines.length) return;
    var head = document.createElement("p");
    var list = document.createElement("ul");
    head.className = "keep__part";
    head.textContent = title;
    lines.slice(0, LIMIT).forEach(function (text) { line(list, text); });
    if (lines.length > LIMIT) line(list, news.dataset.more.replace("{n}", lines.length - LIMIT));
    news.querySelector(".keep__changes").append(head, list);
  }

  function byId(list) {
    var found = {};
    list.forEach(function (one) { found[one.id] = one; });
    return found;
  }

  function stepsChanged(before, after) {
    var old = byId(before), now = byId(after), words = news.dataset;
    return after.filter(function (step) { return !old[step.id] || old[step.id].print !== step.print; })
      .map(function (step) {
        return step.number + " " + step.title + ": " + (old[step.id] ? words.changed : words.added);
      })
      .concat(before.filter(function (step) { return !now[step.id]; })
        .map(function (step) { return step.title + ": " + words.removed; }));
  }

  function compare(before, after) {
    var old = byId(before.parts), now = byId(after.parts), values = byId(before.values);
    news.querySelector(".keep__changes").replaceChildren();
    after.parts.forEach(function (part) {
      group(part.title, stepsChanged(old[part.id] ? old[part.id].steps : [], part.steps));
    });
    before.parts.forEach(function (part) { if (!now[part.id]) group(part.title, stepsChanged(part.steps, [])); });
    group(news.dataset.figures, after.values
      .filter(function (value) { return values[value.id] && values[value.id].shown !== value.shown; })
      .map(function (value) { return value.title + ": " + values[value.id].shown + " → " + value.shown; }));
    var changes = news.querySelector(".keep__changes");
    if (!changes.children.length) changes.textContent = news.dataset.none;
  }

  function described(cache) {
    return caches.open(cache).then(function (open) { return open.match(root + "edition.json"); })
      .then(function (found) { return found.json(); });
  }

  function announce() {
    all("[data-pg-keep] [data-other]", function (place) { place.textContent = other.edition; });
    var asked = null;
    try { asked = sessionStorage.getItem("procgen.stay." + root); } catch (error) { /* asked on every page */ }
    look().then(function (kept) {
      /* The page's own edition may be gone from the phone: then there is nothing to compare with. */
      if (!kept.chosen || kept.chosen.edition !== edition) return null;
      return Promise.all([described(kept.chosen.cache), described(other.cache)])
        .then(function (both) { compare(both[0], both[1]); });
    }).catch(function () {}).then(function () {
      news.hidden = asked === other.edition;
      showNews.hidden = !news.hidden;
    });
  }

  function change() {
    worker.getRegistration(root).then(function (found) {
      if (found && found.active && other) found.active.postMessage({ type: "change", cache: other.cache });
    });
  }

  function stay() {
    try { sessionStorage.setItem("procgen.stay." + root, other.edition); } catch (error) { /* asked again */ }
    news.hidden = true;
    showNews.hidden = false;
    showNews.focus();
  }

  /* Every open page of the guide changes at once. A word still being composed in a field is finished first. */
  function reload() {
    if (document.activeElement && document.activeElement !== document.body) document.activeElement.blur();
    location.reload();
  }

  /* ---------- where it stands ---------- */

  function homeScreen() {
    var link = document.createElement("link");
    link.rel = "manifest";
    link.href = root + "manifest.webmanifest";
    document.head.append(link);
  }

  again.addEventListener("click", function () { keep().catch(refused); });
  showNews.addEventListener("click", function () { news.hidden = false; showNews.hidden = true; news.focus(); });
  news.querySelector(".keep__change").addEventListener("click", change);
  news.querySelector(".keep__stay").addEventListener("click", stay);

  if (box.dataset.form === "single") say("single");
  else if (location.protocol === "file:") {
    say("folder");
    /* An unzipped folder is named by guide and edition, and stands alone: no catalogue above, no downloads. */
    var folder = root.split("/").slice(-2)[0];
    if (decodeURIComponent(folder) !== box.dataset.guide) {
      all(".pg-nav__up, [data-only=site]", function (place) { place.hidden = true; });
    }
  } else {
    if (!box.dataset.worker) say("preview");
    else if (!window.isSecureContext) say("insecure");
    else if (!worker || !store) say("none");
    else {
      worker.addEventListener("message", heard);
      worker.startMessages();
      keep().catch(refused);
      homeScreen();
    }
  }
})();
