// Passkeys: asks the browser for one and sends the form that it belongs to.
"use strict";
(function () {
  if (!window.PublicKeyCredential || !window.webauthnJSON) { return; }

  function options() {
    return JSON.parse(document.getElementById("js_data").textContent);
  }

  const ask = {
    // The list of who may come in stays with the server: any passkey of this site will do.
    async login(form) {
      const answer = await fetch(form.action, { headers: { Accept: "application/json" } });
      if (!answer.ok) { throw new Error("The site did not answer: try again in a minute."); }
      return window.webauthnJSON.get((await answer.json()).request_options);
    },
    async authenticate() {
      return window.webauthnJSON.get(options().request_options);
    },
    async add(form) {
      const wanted = options().creation_options;
      const alone = form.elements.passwordless.checked;
      Object.assign(wanted.publicKey.authenticatorSelection, {
        residentKey: alone ? "required" : "discouraged",
        requireResidentKey: alone,
        ...(alone ? { userVerification: "required" } : {}),
      });
      return window.webauthnJSON.create(wanted);
    },
  };

  function say(form, error) {
    const place = form.querySelector("[role=alert]");
    const left = error.name === "NotAllowedError" || error.name === "AbortError";
    place.textContent = left ? "Nothing was chosen, or it took too long: try again." : error.message;
    place.hidden = false;
  }

  for (const form of document.querySelectorAll("form[data-passkey]")) {
    form.querySelector("button").hidden = false;
    form.addEventListener("submit", async function (event) {
      event.preventDefault();
      try {
        form.elements.credential.value = JSON.stringify(await ask[form.dataset.passkey](form));
        form.submit();
      } catch (error) {
        say(form, error);
      }
    });
  }
})();
