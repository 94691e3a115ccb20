// Shows what waits on this phone, what the site refused and why, and what two people both finished.
"use strict";

(function () {
  const box = document.getElementById("queue");
  const place = document.getElementById("worksheet").dataset;
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

  function line(item, trouble) {
    const made = element("li");
    made.append(element("strong", item.what), document.createTextNode(", " + item.carName + ", " + time(item.made)));
    const files = item.files ? item.files.length : 0;
    if (files) { made.append(document.createTextNode(", " + files + (files === 1 ? " file" : " files"))); }
    if (item.says) { made.append(element("p", item.says)); }
    const row = element("p", "", "row");
    buttons(item, trouble).forEach(function (each) { row.append(each); });
    made.append(row);
    return made;
  }

  function buttons(item, trouble) {
    function remove() { window.Queue.remove(item.key); }
    function again(values) {
      return function () { window.Queue.change(item.key, Object.assign({ state: "waiting", says: "" }, values)).then(window.Queue.send); };
    }
    if (item.state === "waiting") { return trouble ? [button("Take back", remove, true)] : []; }
    if (item.state === "clash") {
      return [button("Leave it at that", remove), button("Log mine as well", again({ also: true }), true)];
    }
    const mend = element("a", "Mend it", "button");
    mend.href = item.page + "#mend=" + item.key;
    return [mend, button("Drop it", remove, true)];
  }

  function section(title, items, className, trouble) {
    const made = element("div", "", className);
    const lines = element("ul", "", "lines");
    items.forEach(function (item) { lines.append(line(item, trouble)); });
    made.append(element("p", title), lines);
    return made;
  }

  function show(items, trouble) {
    function of(state) { return items.filter(function (item) { return item.state === state; }); }
    const waiting = of("waiting"), clashes = of("clash"), refused = of("refused");
    box.replaceChildren();
    box.dataset.waiting = String(waiting.length);
    if (waiting.length) {
      const why = trouble ? " " + trouble + "." : " Sending.";
      const made = section(count(waiting.length) + " kept on this phone, not yet at the site." + why, waiting, "notice", trouble);
      if (trouble === "Sign in again") { made.append(signIn()); }
      box.append(made);
    }
    if (clashes.length) { box.append(section("Done by two people:", clashes, "caution")); }
    if (refused.length) { box.append(section("The site did not take this:", refused, "notice error")); }
    if (others) { box.append(element("p", count(others) + " of somebody else wait on this phone until they sign in.", "soft")); }
  }

  function count(number) { return number === 1 ? "1 entry" : number + " entries"; }

  function signIn() {
    const made = element("a", "Sign in", "button");
    made.href = place.signIn;
    return made;
  }

  window.Queue.onChange(show);
  window.Queue.ofOthers().then(function (number) { others = number; return window.Queue.send(); })
    .catch(function () { /* without a store nothing waits here */ });
})();
