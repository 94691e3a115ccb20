"use strict";
// Narrows a list while somebody types: the same page is asked for, and the part that the form names is replaced.
// Without this script the form's button does the same.
const form = document.querySelector("form[data-narrows]");
const PAUSE_MS = 180;
let waiting = 0;
let asked = null;

async function narrow() {
  asked?.abort();
  asked = new AbortController();
  const list = document.getElementById(form.dataset.narrows);
  const sent = [...new FormData(form)].filter(([, value]) => value !== "");
  const address = `${location.pathname}?${new URLSearchParams(sent)}`;
  list.setAttribute("aria-busy", "true");
  try {
    const answer = await fetch(address, { signal: asked.signal, headers: { Accept: "text/html" } });
    if (!answer.ok) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    list.replaceChildren(...page.getElementById(form.dataset.narrows).childNodes);
    history.replaceState(null, "", address);
  } catch (fault) {
    if (fault.name !== "AbortError") form.requestSubmit();
  } finally {
    if (!asked.signal.aborted) list.removeAttribute("aria-busy");
  }
}

if (form) {
  form.addEventListener("input", () => {
    clearTimeout(waiting);
    waiting = setTimeout(narrow, PAUSE_MS);
  });
}
