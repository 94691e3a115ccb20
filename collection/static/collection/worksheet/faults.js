// A search for a fault at the car, signal or not: results of the site and of this phone together, the same next test
// as the site would give (fault_search.js). What stands in the way of a test is the site's word as of this page;
// the phone only takes away.
"use strict";

(function () {
  const page = document.getElementById("worksheet").dataset, store = document.getElementById("on-phone");
  if (!store) { return; }
  const data = JSON.parse(store.textContent), form = document.querySelector("form[data-kind]");
  const mending = location.hash.startsWith("#mend=") ? location.hash.slice("#mend=".length) : "";
  let items = [], tree = null, chosen = -1; // chosen: a test other than the next, by hand

  function by(id) { return document.getElementById(id); }

  function element(name, text, className) {
    const made = document.createElement(name);
    made.textContent = text || "";
    if (className) { made.className = className; }
    return made;
  }

  function firstUp(text) { return text.slice(0, 1).toUpperCase() + text.slice(1); }

  function isNew(item) { return item.state !== "refused" && !(item.state === "stored" && Date.parse(item.settled) <= Date.parse(page.seen)); }

  function ofPhone(symptom) {
    return items.filter(function (item) { return isNew(item) && item.kind === "fault_test" && item.check.startsWith(symptom + "/"); });
  }

  function tried(symptom) {
    return (data.tried[symptom] || []).concat(ofPhone(symptom).map(function (item) {
      return [item.check.split("/")[1], item.fields.outcome ? item.fields.outcome[0] : null];
    }));
  }

  function isStopped() {
    return items.some(function (item) { return isNew(item) && (typeof item.revokes === "string" || item.danger); });
  }

  function allowed() {
    return Object.keys(data.held).filter(function (act) { return act === "look" || (!isStopped() && !data.held[act].length); });
  }

  function show() {
    document.querySelectorAll("[data-symptom]").forEach(function (link) {
      link.querySelector("[data-begun]").textContent = tried(link.dataset.symptom).length ? "begun" : "";
    });
    by("symptoms").hidden = Boolean(tree);
    by("search").hidden = !tree;
    if (!tree) { return; }
    const at = window.FaultSearch.stand(tree, data.rules, tried(tree.symptom), allowed());
    const test = at.proposals.includes(chosen) ? chosen : at.proposals.length ? at.proposals[0] : -1;
    by("symptom").textContent = tree.label;
    fillCaution("general", tree.caution);
    by("stopped").hidden = !isStopped();
    by("lead").textContent = lead(at);
    fillSettle(at);
    by("next-test").hidden = test < 0;
    if (test >= 0) { ask(at, test); }
    fillInstead(at, test);
    fillBarred(at);
    fill("likely", at.suspects.map(function (cause) { return element("li", suspect(at, cause)); }));
    fill("tried", tried(tree.symptom).map(function (result) { return element("li", outcome(result)); }));
  }

  function lead(at) {
    const first = at.suspects.length ? tree.causes[at.suspects[0]] : null;
    const remedy = first && first.remedy ? " " + firstUp(first.remedy) + "." : "";
    const names = at.suspects.map(function (cause) { return tree.causes[cause].label; });
    const likely = " Likely: " + names.slice(0, -1).join(", ") + (names.length > 1 ? " or " : "") + names.slice(-1) + ".";
    return {
      found: function () { return "Found, and confirmed by its own test: " + first.label + "." + remedy; },
      not_listed: function () { return "The results point to something that is not on this list. Stop here and call " + tree.call + "."; },
      searching: function () {
        if (!tried(tree.symptom).length) { return ""; }
        return "Most likely: " + first.label + ". Not confirmed yet."
          + (at.again.length ? " A result contradicts it: take that test again, with another instrument or by another person." : "");
      },
      waits: function () { return "Each test that is left needs a permission first." + likely; },
      open: function () { return "Open: no test is left that is worth its time." + likely; },
    }[at.state]();
  }

  function fillCaution(id, text) {
    by(id).hidden = !text;
    by(id).querySelector("span").textContent = text;
  }

  function fillSettle(at) {
    const box = by("settle"), ended = at.state === "open" || at.state === "waits";
    const words = at.settles.map(function (test) { return tree.tests[test].do; });
    box.hidden = !ended;
    box.querySelector("ul").replaceChildren.apply(box.querySelector("ul"),
      (words.length ? words : [data.rules.another]).map(function (text) { return element("li", text); }));
    box.querySelector(".call").textContent = "If that cannot be done: stop here and call " + tree.call + ".";
  }

  // Puts a test into the form. What is typed there stays while the test stays.
  function ask(at, place) {
    const test = tree.tests[place], check = tree.symptom + "/" + test.key;
    const confirms = test.confirms >= 0 ? "Confirm " + tree.causes[test.confirms].label + ": " : "";
    by("do").textContent = (at.readings[place] ? "Again: " : confirms) + test.do;
    by("acts").textContent = test.minutes + " min. " + test.acts.map(function (act) { return firstUp(data.rules.acts[act]) + "."; }).join(" ");
    fillCaution("caution", test.caution);
    if (form.dataset.check === check) { return; }
    form.dataset.check = check;
    form.dataset.what = "Fault test: " + test.do;
    form.action = form.action.replace(/[^/]+\/[^/]+\/$/, check + "/");
    const box = form.querySelector("[name='outcome']").closest("fieldset > div");
    box.replaceChildren.apply(box, test.outcomes.map(function (each, number) {
      const line = element("div"), label = element("label"), input = element("input");
      Object.assign(input, { type: "radio", name: "outcome", value: each.key, id: "outcome-" + number });
      label.htmlFor = input.id;
      label.append(input, " " + firstUp(each.words));
      line.append(label);
      return line;
    }));
    looked();
  }

  function fillInstead(at, asked) {
    const others = at.proposals.filter(function (place) { return place !== asked; }).slice(0, 4);
    by("instead").hidden = !others.length;
    const box = by("instead").querySelector("div");
    box.replaceChildren.apply(box, others.map(function (place) {
      const made = element("button", tree.tests[place].do, "quiet");
      made.type = "button";
      made.addEventListener("click", function () { choose(place); });
      return made;
    }));
  }

  function choose(place) {
    chosen = place;
    by("instead").open = false;
    show();
    by("do").scrollIntoView({ block: "center" });
  }

  function fillBarred(at) {
    fill("barred", at.barred.map(function (place) {
      const needs = tree.tests[place].acts.flatMap(function (act) { return data.held[act]; });
      const why = isStopped() ? ["what stops on this phone"] : Array.from(new Set(needs));
      return element("li", tree.tests[place].do + " First: " + why.join("; ") + ".");
    }));
  }

  function fill(id, lines) {
    const list = by(id).querySelector("ul, ol");
    by(id).hidden = !lines.length;
    list.replaceChildren.apply(list, lines);
  }

  function suspect(at, cause) {
    const row = tree.causes[cause], mends = row.remedy ? " Mends it: " + row.remedy + "." : "";
    return firstUp(row.label) + ": " + window.FaultSearch.words(data.rules, at.chances[cause]) + "." + mends;
  }

  function outcome(result) {
    const test = tree.tests.find(function (each) { return each.key === result[0]; });
    const came = test && test.outcomes.find(function (each) { return each.key === result[1]; });
    return (test ? test.do : result[0]) + " " + (came ? firstUp(came.words) : "Could not be done") + ".";
  }

  function typed(name) { return String(new FormData(form).get(name) || "").trim(); }

  // What the site would refuse is said here, where somebody can still look again.
  function looked() {
    const came = typed("outcome"), not = typed("could_not");
    const fault = !came && !not ? "Say how it came out, or why it could not be done."
      : came && not ? "Say how it came out, or why it could not be done: one of the two." : "";
    form.querySelector("[name='outcome']").setCustomValidity(fault);
    form.dataset.said = came ? form.querySelector("[name='outcome']:checked").closest("label").textContent.trim() : "could not be done";
  }

  function open(symptom, test) {
    tree = data.trees.find(function (each) { return each.symptom === symptom; }) || null;
    chosen = tree && test ? tree.tests.findIndex(function (each) { return each.key === test; }) : -1;
    show();
  }

  document.querySelectorAll("[data-symptom]").forEach(function (link) {
    link.addEventListener("click", function (event) {
      event.preventDefault();
      open(link.dataset.symptom);
      by("symptom").focus();
    });
  });
  by("other-fault").addEventListener("click", function () { open(""); });
  ["input", "change"].forEach(function (name) { form.addEventListener(name, looked); });
  form.addEventListener("logged", function () { chosen = -1; });
  form.addEventListener("reset", function () { setTimeout(looked, 0); });
  window.Queue.onChange(function (all) {
    items = all.filter(function (item) { return item.car === Number(page.car); });
    show();
  });
  window.Queue.opened.then(function () { return window.Queue.list(); }).then(function (all) {
    const item = all.find(function (each) { return each.key === mending; });
    if (item) { open.apply(null, item.check.split("/")); }
  }).catch(function () { /* without a store the links lead to the site */ });
})();
