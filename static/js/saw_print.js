// Printing, and choices that go off by themselves where there is a script.

document.addEventListener("click", (event) => {
  if (event.target.closest?.("[data-print]")) window.print();
});
document.addEventListener("change", (event) => {
  const choice = event.target.closest?.("[data-send]");
  if (choice) choice.form.requestSubmit();
});
