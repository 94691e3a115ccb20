// Puts the cursor where typing begins: the first field at fault, else the first field of the first task.
"use strict";

(function () {
  const form = document.querySelector(".keyed");
  const first = form.querySelector("[aria-invalid='true']") || form.querySelector("fieldset input:not([type='hidden']), fieldset select");
  if (first) { first.focus(); }
})();
