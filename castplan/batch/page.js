import { say, useTexts } from "./say.js";
// Sorting and filtering of the list; without it the list stands in its own order.
(() => {
  const list = document.querySelector(".parts");
  const parts = [...list.children];
  const controls = document.querySelector(".controls");
  const find = document.getElementById("find");
  const sort = document.getElementById("sort");
  const told = document.getElementById("told");
  const states = [...controls.querySelectorAll("input[type=checkbox]")];
  useTexts(JSON.parse(document.getElementById("words").textContent));
  const number = (part, name) => {
    const text = part.dataset[name];
    return text === "" ? -Infinity : Number(text);
  };
  // The list's own order breaks ties, so that the same choice gives the same list.
  const order = () => {
    const name = sort.value;
    const sorted = parts.map((part, place) => [part, place]);
    if (name !== "list") {
      sorted.sort(([a, i], [b, j]) =>
        name === "name"
          ? a.dataset.name.localeCompare(b.dataset.name) || i - j
          : number(b, name) - number(a, name) || i - j);
    }
    list.append(...sorted.map(([part]) => part));
  };
  const filter = () => {
    const words = find.value.toLowerCase().split(/\s+/).filter(Boolean);
    const wanted = new Set(states.filter((box) => box.checked).map((box) => box.value));
    let shown = 0;
    for (const part of parts) {
      const text = part.textContent.toLowerCase();
      part.hidden = !(wanted.has(part.dataset.state) && words.every((word) => text.includes(word)));
      shown += part.hidden ? 0 : 1;
    }
    told.textContent = say("parts_page.shown", { shown, all: parts.length });
  };
  controls.hidden = false;
  controls.addEventListener("submit", (event) => event.preventDefault());
  sort.addEventListener("change", order);
  find.addEventListener("input", filter);
  for (const box of states) box.addEventListener("change", filter);
  // A browser may bring back what was chosen before a reload.
  order();
  filter();
})();
