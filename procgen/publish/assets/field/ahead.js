/* A copy of each entry on its way to the database, written at once: a page that is left, reloaded or killed before the
   database is done loses nothing. The next page of the guide, of whatever edition, finds the copy (store.js). */
procgen.part(function (data, pg) {
  "use strict";
  var start = "procgen:" + data.guide + ":pending:";

  /* Each state of an entry has a copy of its own: no tab takes away what another has just written. */
  function key(row) { return start + row.edition + ":" + row.id + ":" + row.entry.seq; }

  function drop(name) { try { localStorage.removeItem(name); } catch (error) { /* refused: nothing stands there */ } }

  function read(name) {
    var text = localStorage.getItem(name);
    try { return JSON.parse(text); } catch (error) { return text; }
  }

  pg.ahead = {
    /* Pictures are too large for this place. Where it is full or refused only the database is left: false. */
    keep: function (row) {
      if (row.entry.data instanceof Blob) return false;
      try { localStorage.setItem(key(row), JSON.stringify(row)); } catch (error) { return false; }
      return true;
    },
    forget: function (row) { drop(key(row)); },
    /* [{row, drop}]: what pages left behind, and pages that are open have not finished. */
    left: function () {
      try {
        return Object.keys(localStorage).filter(function (name) { return name.indexOf(start) === 0; }).map(function (name) {
          return { row: read(name), drop: function () { drop(name); } };
        });
      } catch (error) { return []; }
    }
  };
});
