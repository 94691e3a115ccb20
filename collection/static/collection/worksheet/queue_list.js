// Shows what waits on this phone in one line that opens, what the site refused and why, and what two people
// both finished.
"use strict";

(function () {
  const box = document.getElementById("queue");
  const place = document.getElementById("worksheet").dataset;
  const opened = { waiting: false, clash: true, refused: true };
  let others = 0;

  function element(name, text, className) {
    const made = document.createElement(name);
    if (text) { made.textContent = text; }
    if (className) { made.className = className; }
    return made;
  }

  function button(text, act, quiet) {
    const made = element("button", text, quiet ? "quiet" : "");
    made.type = "button";
    made.addEventListener("click", act);
    return made;
  }

  function time(ms) {
    return new Date(ms).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  }

  function line(item) {
    const made = element("li");
    const files = item.files && item.files.length;
    const parts = [item.carName, time(item.made), files ? (files === 1 ? "1 file" : files + " files") : ""].filter(Boolean);
    made.append(element("strong", item.what), document.createTextNode(", " + parts.join(", ")));
    if (item.says) { made.append(element("p", item.says)); }
    const row = element("p", "", "row");
    row.append.apply(row, buttons(item, row));
    made.append(row);
    return made;
  }

  // What was done at the car is not thrown away by one tap of a glove.
  function asking(item, row, label, question) {
    return button(label, function () {
      const no = button("Keep it", function () { row.replaceChildren.apply(row, buttons(item, row)); }, true);
      row.replaceChildren(element("span", question), button(label, function () { window.Queue.remove(item.key); }), no);
      no.focus();
    }, true);
  }

  function buttons(item, row) {
    function again(values) {
      return function () { window.Queue.change(item.key, Object.assign({ state: "waiting", says: "" }, values)).then(window.Queue.send); };
    }
    if (item.state === "waiting") { return [asking(item, row, "Take back", "It is then logged nowhere.")]; }
    if (item.state === "clash") {
      return [button("Leave it at that", function () { window.Queue.remove(item.key); }), button("Log mine as well", again({ also: true }), true)];
    }
    const mend = element("a", "Mend it", "button");
    mend.href = item.page + "#mend=" + item.key;
    return [mend, asking(item, row, "Drop it", "What you typed is then gone.")];
  }

  function section(name, title, items, className) {
    const made = element("details", "", className), head = element("summary", title);
    const lines = element("ul", "", "lines");
    items.forEach(function (item) { lines.append(line(item)); });
    made.open = opened[name];
    made.addEventListener("toggle", function () { opened[name] = made.open; });
    made.append(head, lines);
    return made;
  }

  function show(items, trouble) {
    function of(state) { return items.filter(function (item) { return item.state === state; }); }
    const waiting = of("waiting"), clashes = of("clash"), refused = of("refused");
    box.replaceChildren();
    box.dataset.waiting = String(waiting.length);
    if (waiting.length) {
      const why = trouble ? " " + trouble + "." : " Sending.";
      box.append(section("waiting", count(waiting.length) + " kept on this phone, not yet at the site." + why, waiting, "notice"));
      if (trouble === "Sign in again") { box.append(signIn()); }
    }
    if (clashes.length) { box.append(section("clash", "Done by two people", clashes, "caution")); }
    if (refused.length) { box.append(section("refused", "The site did not take this", refused, "notice error")); }
    if (others) { box.append(element("p", count(others) + " of somebody else wait on this phone until they sign in.", "soft")); }
  }

  function count(number) { return number === 1 ? "1 entry" : number + " entries"; }

  function signIn() {
    const made = element("p"), link = element("a", "Sign in", "button");
    link.href = place.signIn;
    made.append(link);
    return made;
  }

  window.Queue.onChange(show);
  window.Queue.ofOthers().then(function (number) { others = number; return window.Queue.send(); })
    .catch(function () { /* without a store nothing waits here */ });
})();
