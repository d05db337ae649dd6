// The frame's own small duties: the clock in the title block, closing "All places", and saying so
// when an exchange with the server fails.

const offset = Number(document.body.dataset.now) - Date.now();

function showClock() {
  const now = new Date(Date.now() + offset);
  const text = now.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  for (const cell of document.querySelectorAll("[data-clock]")) cell.textContent = text;
}
setInterval(showClock, 5000);

document.addEventListener("click", (event) => {
  const open = document.querySelector("details.more[open]");
  if (open && !open.contains(event.target)) open.open = false;
});
document.addEventListener("keydown", (event) => {
  const open = document.querySelector("details.more[open]");
  if (open && event.key === "Escape") {
    open.open = false;
    open.querySelector("summary").focus();
  }
});

function notice(id, words) {
  const bars = document.getElementById("bars");
  let bar = document.getElementById(id);
  if (!words) {
    bar?.remove();
    return;
  }
  if (!bar) {
    bar = document.createElement("div");
    bar.id = id;
    bar.className = "bar red";
    bars.append(bar);
  }
  bar.textContent = words;
}
// A page that asks for itself again keeps nothing: live.js says when the server is away.
const kept = (event) => event.detail.requestConfig?.verb !== "get";
document.body.addEventListener("htmx:responseError", (event) => {
  if (!kept(event)) return;
  const status = event.detail.xhr.status;
  notice("exchange-failed", `That was not kept: the server answered ${status}. What you typed is still here.`);
});
document.body.addEventListener("htmx:sendError", (event) => {
  if (!kept(event)) return;
  notice("exchange-failed", "That was not kept: the server cannot be reached. What you typed is still here.");
});
document.body.addEventListener("htmx:afterOnLoad", (event) => {
  if (event.detail.xhr.status < 400) notice("exchange-failed", "");
});
