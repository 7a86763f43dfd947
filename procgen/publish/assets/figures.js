/* A figure on a page shows where it comes from. Without this script its link leads to the calculation sheet.
   Classic script, no dependency; what it shows was written when the guide was built. */
(function () {
  "use strict";
  var source = document.querySelector('meta[name="procgen-figures"]');
  if (!source || !self.HTMLDialogElement) return;
  var dialog, body, more, loading;

  function load() {
    if (!loading) {
      loading = new Promise(function (resolve, reject) {
        var script = document.createElement("script");
        script.src = source.content;
        script.onload = function () { resolve(self.procgenFigures); };
        script.onerror = function () { loading = null; reject(new Error(source.content)); };
        document.head.appendChild(script);
      });
    }
    return loading;
  }

  function make(words) {
    dialog = document.createElement("dialog");
    dialog.className = "pg-figure md-typeset";
    dialog.setAttribute("aria-labelledby", "pg-figure-title");
    body = document.createElement("div");
    body.className = "pg-figure__body";
    var foot = document.createElement("div");
    foot.className = "pg-figure__foot";
    more = document.createElement("a");
    more.textContent = words.sheet;
    var close = document.createElement("button");
    close.type = "button";
    close.textContent = words.close;
    close.addEventListener("click", function () { dialog.close(); });
    foot.append(more, close);
    dialog.append(body, foot);
    /* A tap beside it closes it; the dialog itself fills its box. */
    dialog.addEventListener("click", function (event) { if (event.target === dialog) dialog.close(); });
    document.body.appendChild(dialog);
  }

  function show(link, found) {
    var html = found.values[link.dataset.value || link.dataset.source];
    if (!html) { location.href = link.href; return; }
    if (!dialog) make(found.words);
    body.innerHTML = html;
    var title = body.querySelector(".calc__title");
    if (title) title.id = "pg-figure-title";
    more.href = link.href;
    if (!dialog.open) dialog.showModal();
    dialog.scrollTop = 0;
  }

  document.addEventListener("click", function (event) {
    if (event.defaultPrevented || event.button || event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) return;
    var link = event.target.closest && event.target.closest("a.q[data-value], a[data-source]");
    if (!link || link.getAttribute("href").charAt(0) === "#") return;
    event.preventDefault();
    load().then(function (found) { show(link, found); }, function () { location.href = link.href; });
  });
})();
