// Rows that fold away on a small screen, and stay as the user left them when the sheet is renewed.

const chosen = new Map();

export function startFolds() {
  document.addEventListener("click", (event) => {
    const button = event.target.closest?.("[data-unfold]");
    if (!button) return;
    const row = document.getElementById(button.dataset.unfold);
    chosen.set(row.id, !row.classList.contains("open"));
    apply();
  });
  document.body.addEventListener("htmx:afterSettle", apply);
}

function apply() {
  for (const [id, open] of chosen) {
    const row = document.getElementById(id);
    row?.classList.toggle("open", open);
    row?.querySelector("[data-unfold]")?.setAttribute("aria-expanded", String(open));
  }
}
