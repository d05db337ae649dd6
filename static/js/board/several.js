// Ticking several rings of a part at one tap.

document.addEventListener("click", (event) => {
  const how = event.target.closest?.("[data-tick]")?.dataset.tick;
  if (!how) return;
  const list = event.target.closest(".tick-all").nextElementSibling;
  const boxes = [...list.querySelectorAll("input[name=pick]")];
  // The list runs from the top; every second is counted from below, as the rings are.
  boxes.reverse().forEach((box, k) => {
    box.checked = how === "all" || (how === "second" && k % 2 === 1);
  });
});
