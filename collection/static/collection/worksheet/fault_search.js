// The search for a fault without a signal: the same rules and numbers as scheduler/faults (search.py and
// diagnosis.py; a test walks both side by side). Pure: a tree, the rules and results in, where it stands out.
"use strict";

window.FaultSearch = (function () {
  function sum(values) { return values.reduce(function (total, each) { return total + each; }, 0); }

  function leaderOf(values) { return values.indexOf(Math.max.apply(null, values)); }

  // Equals stay equal, here and at the site.
  function rounded(value, rules) { const one = Math.pow(10, rules.digits); return Math.round(value * one) / one; }

  function normal(weight, rules) {
    const most = Math.max.apply(null, weight);
    const chances = weight.map(function (each) { return Math.exp(each - most); }), all = sum(chances);
    return chances.map(function (each) { return rounded(each / all, rules); });
  }

  function entropy(chances) {
    return -sum(chances.map(function (chance) { return chance > 0 ? chance * Math.log2(chance) : 0; }));
  }

  // Bits that a test is expected to remove; table[outcome][cause].
  function bits(table, chances) {
    return entropy(chances) - sum(table.map(function (row) {
      const joint = row.map(function (given, cause) { return given * chances[cause]; }), each = sum(joint);
      return each > 0 ? each * entropy(joint.map(function (part) { return part / each; })) : 0;
    }));
  }

  // What the results made of the causes; results: [test, outcome or null], in their order.
  function boardOf(tree, rules, results) {
    const board = {
      weight: tree.prior.map(Math.log),
      tests: tree.tests.map(function () { return { readings: 0, last: -1, failed: false }; }),
    };
    results.forEach(function (result) {
      const place = tree.tests.findIndex(function (test) { return test.key === result[0]; });
      if (place >= 0 && board.tests[place].readings < rules.most_readings) { record(tree, rules, board, place, result[1]); }
    });
    board.chances = normal(board.weight, rules);
    return board;
  }

  function record(tree, rules, board, place, key) {
    const test = tree.tests[place], at = board.tests[place];
    const outcome = test.outcomes.findIndex(function (each) { return each.key === key; });
    if (outcome < 0) { at.failed = true; return; }
    const same = at.last === outcome ? rules.same_eyes : 0;
    board.weight = board.weight.map(function (weight, cause) {
      const likely = test.table[outcome][cause];
      return weight + Math.log(at.readings > 0 ? same + (1 - rules.same_eyes) * likely : likely);
    });
    at.readings += 1;
    at.last = outcome;
    at.failed = false;
  }

  // How the next test is chosen among those allowed, or how the search ends.
  function stepOf(tree, rules, board, allowed) {
    const chances = board.chances, leader = leaderOf(chances), best = chances[leader];
    const rated = tree.tests.map(function (test, place) {
      const at = board.tests[place], may = allowed[place] && !at.failed;
      const again = may && at.readings > 0 && at.readings < rules.most_readings;
      const once = bits(test.table, chances) * (1 - test.could_not);
      const fresh = may && at.readings === 0 && once >= rules.useful_bits ? rounded(once / test.effort, rules) : 0;
      const twice = again ? bits(seenAgain(test, at, rules), chances) : 0;
      const repeat = twice >= rules.useful_bits ? rounded(twice / test.effort, rules) : 0;
      const contradicts = best >= rules.confirm_from && at.last >= 0
        && test.table[at.last][leader] < rules.contradicts_below;
      return {
        fresh: fresh, again: repeat, contradicts: contradicts,
        confirm: best >= rules.confirm_from && test.confirms === leader && may && at.readings === 0 ? 1 : 0,
        repeat: contradicts && again ? Math.max(repeat, at.readings === 1 ? rules.once_more : 0) : 0,
      };
    });
    const settled = !rated.some(function (each) { return each.repeat > 0; });
    const confirmed = tree.tests.some(function (test, place) { return test.confirms === leader && board.tests[place].last === 0; });
    let state = "searching", next = -1;
    if (confirmed && best >= rules.found_from && settled) { state = "found"; }
    else if (leader === tree.other && best >= rules.not_listed_from && settled) { state = "not_listed"; }
    ["again", "fresh", "confirm", "repeat"].forEach(function (name) { // the later takes its place before the earlier
      const values = rated.map(function (each) { return each[name]; }), place = leaderOf(values);
      if (values[place] > 0) { next = place; }
    });
    if (state === "searching" && next < 0) { state = "open"; }
    return { state: state, test: state === "searching" ? next : -1, rated: rated };
  }

  function seenAgain(test, at, rules) {
    return test.table.map(function (row, outcome) {
      return row.map(function (given) { return (outcome === at.last ? rules.same_eyes : 0) + (1 - rules.same_eyes) * given; });
    });
  }

  // Places of the tests worth doing, the next first, then by what they tell for their effort.
  function ranking(tree, rules, board, step) {
    if (step.test < 0) { return []; }
    const worth = step.rated.map(function (each, place) {
      const cause = tree.tests[place].confirms;
      return cause >= 0 && board.chances[cause] < rules.unlikely_below ? 0 : each.fresh + each.repeat;
    });
    const others = worth.map(function (_, place) { return place; }).filter(function (place) { return worth[place] > 0 && place !== step.test; });
    return [step.test].concat(others.sort(function (a, b) { return worth[b] - worth[a] || a - b; }));
  }

  function namedWhenOpen(tree, chances) {
    const listed = chances.map(function (chance, cause) { return cause === tree.other ? -1 : chance; });
    const second = listed.slice().sort(function (a, b) { return b - a; })[1];
    return chances.map(function (_, cause) {
      return cause === tree.other || listed[cause] >= second;
    });
  }

  function settles(tree, board, barred, named) {
    if (barred.length) { return barred.slice(0, 2); }
    const telling = tree.tests.map(function (test) { return bits(test.table, board.chances); });
    const missing = telling.map(function (_, place) { return place; }).filter(function (place) {
      const cause = tree.tests[place].confirms;
      return board.tests[place].failed && (cause < 0 || named[cause]);
    });
    return missing.sort(function (a, b) { return telling[b] - telling[a] || a - b; }).slice(0, 2);
  }

  // Where a search stands. allowed: acts that may be done now; places of tests and causes throughout.
  function stand(tree, rules, results, allowed) {
    const board = boardOf(tree, rules, results);
    const may = tree.tests.map(function (test) { return test.acts.every(function (act) { return allowed.includes(act); }); });
    const step = stepOf(tree, rules, board, may), free = stepOf(tree, rules, board, may.map(function () { return true; }));
    const barred = ranking(tree, rules, board, free).filter(function (place) { return !may[place]; });
    const state = step.state === "open" && barred.length ? "waits" : step.state;
    const ended = state === "open" || state === "waits", named = namedWhenOpen(tree, board.chances);
    const suspects = board.chances.map(function (_, cause) { return cause; }).filter(function (cause) {
      return ended ? named[cause] : board.chances[cause] >= rules.unlikely_below;
    }).sort(function (a, b) { return board.chances[b] - board.chances[a] || (tree.causes[a].key < tree.causes[b].key ? -1 : 1); });
    return {
      state: state, chances: board.chances, suspects: suspects, barred: barred,
      proposals: ranking(tree, rules, board, step),
      settles: ended ? settles(tree, board, barred, named) : [],
      contradicts: places(step, "contradicts"), again: places(step, "repeat"),
      readings: board.tests.map(function (each) { return each.readings; }),
    };
  }

  function places(step, name) {
    return step.rated.map(function (_, place) { return place; }).filter(function (place) { return step.rated[place][name] > 0; });
  }

  function words(rules, chance) { return rules.ladder.find(function (rung) { return chance >= rung[0]; })[1]; }

  return { stand: stand, words: words };
})();
