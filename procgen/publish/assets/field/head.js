/* The doing side: what each of its scripts is given. Where a page has no guide, none of them runs. */
(function () {
  "use strict";
  var pg = window.procgen = {};
  pg.part = function (run) {
    if (window.procgenGuide) run(window.procgenGuide, pg, pg.ui, pg.store);
  };
})();
