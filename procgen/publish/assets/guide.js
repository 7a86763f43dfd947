/* Contents drawer, colours, and where the reader is on the page. Classic script, no dependency. */
(function () {
  "use strict";
  var root = document.documentElement;

  function drawer() {
    var button = document.querySelector("[data-pg-menu]");
    var toggle = document.getElementById("__drawer");
    var overlay = document.querySelector(".md-overlay");
    var nav = document.getElementById("pg-nav");
    if (!button || !toggle || !nav) return;
    function set(open) {
      toggle.checked = open;
      root.classList.toggle("pg-drawer-open", open);
      button.setAttribute("aria-expanded", String(open));
      if (open) {
        var first = nav.querySelector("[aria-current]") || nav.querySelector("a");
        if (first) first.focus();
      }
    }
    button.addEventListener("click", function () { set(!toggle.checked); });
    if (overlay) overlay.addEventListener("click", function (event) { event.preventDefault(); set(false); });
    document.addEventListener("keydown", function (event) {
      if (event.key === "Escape" && toggle.checked) { set(false); button.focus(); }
    });
    nav.addEventListener("focusout", function (event) {
      if (toggle.checked && event.relatedTarget && !nav.contains(event.relatedTarget)) set(false);
    });
    /* A page restored from the back-forward cache must not keep the drawer open. */
    window.addEventListener("pageshow", function () { if (toggle.checked) set(false); });
    /* The theme's own toggles are driven by the button; they are no stop on the keyboard's way. */
    document.querySelectorAll(".md-toggle").forEach(function (box) {
      box.tabIndex = -1;
      box.setAttribute("aria-hidden", "true");
    });
  }

  function colours() {
    var button = document.querySelector("[data-pg-theme]");
    if (!button) return;
    var order = ["auto", "light", "dark", "outdoor"];
    var said = document.querySelector(".pg-said");
    var timer = 0;
    function current() { return root.getAttribute("data-theme") || "auto"; }
    function label() {
      button.title = button.getAttribute("data-label-" + current());
      button.setAttribute("aria-label", button.getAttribute("data-label").replace("{colours}", button.title));
    }
    button.addEventListener("click", function () {
      var next = order[(order.indexOf(current()) + 1) % order.length];
      if (next === "auto") root.removeAttribute("data-theme"); else root.setAttribute("data-theme", next);
      try {
        if (next === "auto") localStorage.removeItem("procgen.theme");
        else localStorage.setItem("procgen.theme", next);
      } catch (error) { /* not kept; it holds for this page */ }
      label();
      said.textContent = button.title;
      window.clearTimeout(timer);
      timer = window.setTimeout(function () { said.textContent = ""; }, 3000);
    });
    label();
  }

  function whereOnPage() {
    var links = Array.prototype.slice.call(document.querySelectorAll(".pg-toc a[href*='#']"));
    if (!links.length || !("IntersectionObserver" in window)) return;
    var byId = {};
    links.forEach(function (link) { byId[decodeURIComponent(link.hash.slice(1))] = link; });
    var seen = {};
    var watch = new IntersectionObserver(function (entries) {
      entries.forEach(function (entry) { seen[entry.target.id] = entry.isIntersecting; });
      var here = Object.keys(byId).filter(function (id) { return seen[id]; })[0];
      if (!here) return;
      links.forEach(function (link) { link.classList.toggle("is-here", link === byId[here]); });
    }, { rootMargin: "-70px 0px -60% 0px" });
    Object.keys(byId).forEach(function (id) {
      var target = document.getElementById(id);
      if (target) watch.observe(target);
    });
  }

  drawer();
  colours();
  whereOnPage();
})();
