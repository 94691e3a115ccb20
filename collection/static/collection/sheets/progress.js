// Looks again every two seconds and shows how far the table has come; without it, a link does the same.
const shown = document.getElementById("progress");
async function look() {
  const answer = await fetch(location.href, { credentials: "same-origin" });
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const next = page.getElementById("progress");
  if (!next) {
    location.reload();
    return;
  }
  shown.replaceChildren(...next.childNodes);
  setTimeout(look, 2000);
}
setTimeout(() => look().catch(() => {}), 2000);
