/* In the one-file edition a link that a script makes to a page of the guide leads to that part of the file. */
(function () {
  "use strict";
  document.addEventListener("click", function (event) {
    var link = event.target.closest ? event.target.closest("a[href]") : null;
    var parts = link ? link.getAttribute("href").split("#") : [];
    var anchor = parts.length && Object.prototype.hasOwnProperty.call(self.procgenSingle, parts[0])
      ? parts[1] || self.procgenSingle[parts[0]] : null;
    if (!anchor) return;
    event.preventDefault();
    location.hash = anchor;
  }, true);
})();
