/* A drawing larger than its column, to be panned; its table open on paper. Classic script, no dependency. */
(function () {
  "use strict";
  var views = document.querySelectorAll(".drawing__view[data-enlarge]");

  function element(name, css, text) {
    var made = document.createElement(name);
    made.className = css;
    if (text) made.textContent = text;
    return made;
  }

  function enlargeable(view) {
    if (typeof HTMLDialogElement !== "function") return;
    var button = element("button", "drawing__enlarge", view.getAttribute("data-enlarge"));
    button.type = "button";
    view.parentNode.insertBefore(button, view);
    button.addEventListener("click", function () { open(view, button); });
  }

  /* The picture itself moves into the dialog and back: a copy would repeat its ids. */
  function open(view, button) {
    var picture = view.firstElementChild;
    var dialog = element("dialog", "drawing-large");
    var close = element("button", "drawing-large__close", view.getAttribute("data-close"));
    var pane = element("div", "drawing-large__pane");
    close.type = "button";
    pane.tabIndex = 0;
    pane.setAttribute("role", "region");
    pane.setAttribute("aria-label", view.getAttribute("data-pan"));
    dialog.setAttribute("aria-label", view.getAttribute("data-pan"));
    view.style.minHeight = view.offsetHeight + "px";
    pane.appendChild(picture);
    dialog.appendChild(close);
    dialog.appendChild(pane);
    document.body.appendChild(dialog);
    close.addEventListener("click", function () { dialog.close(); });
    dialog.addEventListener("close", function () {
      view.appendChild(picture);
      view.style.minHeight = "";
      dialog.remove();
      button.focus();
    });
    dialog.showModal();
    pane.focus();
  }

  Array.prototype.forEach.call(views, enlargeable);

  /* Not every browser opens a folded table on paper by style alone. */
  var opened = [];
  window.addEventListener("beforeprint", function () {
    opened = Array.prototype.filter.call(document.querySelectorAll(".drawing__data"), function (one) {
      return !one.open;
    });
    opened.forEach(function (one) { one.open = true; });
  });
  window.addEventListener("afterprint", function () {
    opened.forEach(function (one) { one.open = false; });
    opened = [];
  });
})();
