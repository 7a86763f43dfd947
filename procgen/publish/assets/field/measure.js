/* A figure as it was typed, read and judged. Only linear unit factors; every limit and text comes with the data. */
procgen.part(function (data, pg) {
  "use strict";
  var FRACTION = /^(?:(\d+) )?(\d+)\/(\d+)$/;

  /* Typed text -> {number}, {number, or} where a comma can be read two ways, or {why}. */
  function read(text, kind) {
    var plain = text.trim().replace(/[\u2212\u2013]/g, "-").replace(/[\u00a0\u202f\u2009]/g, " ");
    var beyond = /^[<>]/.test(plain) ? plain[0] : "";
    plain = plain.replace(/^[<>]\s*/, "").replace(/\s+/g, " ");
    if (!plain) return { why: "empty" };
    var match;
    if (kind === "fall" && (match = /^1 ?: ?(\d+(?:[.,]\d+)?)$/.exec(plain))) {
      return { ratio: 1 / Number(match[1].replace(",", ".")), number: 0, beyond: beyond };
    }
    if (kind === "time" && (match = /^(?:(\d+):)?(\d+):([0-5]\d)$/.exec(plain))) {
      return { seconds: Number(match[1] || 0) * 3600 + Number(match[2]) * 60 + Number(match[3]), number: 0, beyond: beyond };
    }
    match = FRACTION.exec(plain);
    if (match && Number(match[3])) return { number: Number(match[1] || 0) + Number(match[2]) / Number(match[3]), beyond: beyond };
    plain = plain.replace(/(\d)[ '’](?=\d{3}(\D|$))/g, "$1");
    if (/^[+-]?\d{1,3}(,\d{3})+(\.\d+)?$/.test(plain) && /[.]|,\d{3},/.test(plain)) plain = plain.replace(/,/g, "");
    else if (/^[+-]?\d{1,3}(\.\d{3})+,\d+$/.test(plain) || /^[+-]?\d{1,3}(\.\d{3}){2,}$/.test(plain)) plain = plain.replace(/\./g, "").replace(",", ".");
    else if ((match = /^([+-]?)([1-9]\d{0,2}),(\d{3})$/.exec(plain))) {
      return { number: Number(match[1] + match[2] + "." + match[3]), or: Number(match[1] + match[2] + match[3]), beyond: beyond };
    } else plain = plain.replace(",", ".");
    if (!/^[+-]?(\d+\.?\d*|\.\d+)$/.test(plain)) return { why: "not_a_number" };
    return { number: Number(plain), beyond: beyond };
  }

  function toSi(found, unit) {
    if (found.ratio !== undefined) return found.ratio;
    if (found.seconds !== undefined) return found.seconds;
    return found.number * unit.scale + unit.offset;
  }

  /* Room for the last digit of a float, not for the one that was read. */
  function room(limit) { return Math.abs(limit) * 1e-6 + 1e-12; }
  function below(si, limit) { return limit !== null && si < limit - room(limit); }
  function above(si, limit) { return limit !== null && si > limit + room(limit); }

  /* "impossible": physics does not allow it. "implausible": no such job shows it. */
  function doubt(si, reading) {
    var kind = data.kinds[reading.kind];
    if (kind.floor !== null && below(si, kind.floor)) return "impossible";
    if (reading.kind === "count" && Math.abs(si - Math.round(si)) > 1e-9) return "implausible";
    var own = [reading.low, reading.high, reading.target].filter(function (limit) { return limit !== null; });
    var low = kind.plausible[0];
    var high = kind.plausible[1];
    if (low !== null) low = Math.min.apply(null, [low].concat(own));
    if (high !== null) high = Math.max.apply(null, [high].concat(own));
    return below(si, low) || above(si, high) ? "implausible" : "";
  }

  /* Verdict against limits; without limits against what was computed; without both against the target. */
  function judge(si, beyond, reading) {
    var low = reading.low;
    var high = reading.high;
    if (beyond === ">" && (high !== null || (low !== null && si < low - room(low)))) return "unsure";
    if (beyond === "<" && (low !== null || (high !== null && si > high + room(high)))) return "unsure";
    if (below(si, low)) return "low";
    if (above(si, high)) return "high";
    if (low !== null || high !== null) return "inside";
    if (beyond) return "unsure";
    if (reading.expected) {
      var slack = (reading.step_si || 0) / 2;
      if (si < reading.expected[0] - slack) return "under";
      return si > reading.expected[1] + slack ? "over" : "expected";
    }
    if (reading.target === null) return "noted";
    if (below(si, reading.target)) return "below";
    return above(si, reading.target) ? "above" : "target";
  }

  pg.measure = {
    read: read, toSi: toSi, doubt: doubt, judge: judge,
    /* The rows of a what-if table on both sides of a figure: of each column the worse, never anything between. */
    row: function (table, si) {
      var rows = table.rows;
      var last = rows.length - 1;
      if (!rows.length) return { outside: true };
      var edge = Math.abs(si) * 1e-6;
      if (si < rows[0].x - edge || si > rows[last].x + edge) return { outside: true };
      var at = 0;
      while (at < last && rows[at + 1].x <= si + edge) at += 1;
      var one = rows[at];
      var two = at < last && Math.abs(one.x - si) > edge ? rows[at + 1] : one;
      return { row: worst(one, two), between: one !== two };
    },
    bad: function (verdict) { return verdict === "low" || verdict === "high"; },
    odd: function (verdict) { return verdict === "under" || verdict === "over" || verdict === "unsure"; },
    good: function (verdict) { return verdict === "inside" || verdict === "expected" || verdict === "target"; }
  };

  /* A row without an answer is the worst; else each figure comes from the row in which it ends higher. */
  function worst(one, two) {
    if (one === two || !Object.keys(one.ends).length) return one;
    if (!Object.keys(two.ends).length) return two;
    var row = { why: one.why || two.why, ends: {}, texts: {} };
    [one, two].forEach(function (from) {
      Object.keys(from.ends).forEach(function (value) {
        if (row.ends[value] && row.ends[value][1] >= from.ends[value][1]) return;
        row.ends[value] = from.ends[value];
        row.texts[value] = from.texts[value];
      });
    });
    return row;
  }
});
