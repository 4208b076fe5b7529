// Keyboard lists for the fields of the engine and of the part, and the text of the last scan selected for the next one.
// Without this file the page works by its form alone.
(() => {
  "use strict";
  for (const input of document.querySelectorAll("input[data-options]")) {
    const list = document.getElementById(input.dataset.options);
    if (list) attach(input, list);
  }

  function attach(input, list) {
  const options = () => [...list.querySelectorAll("[role=option]:not([aria-disabled])")];
  let active = -1;
  let activeValue = null;

  function show(isShown) {
    list.hidden = !isShown;
    input.setAttribute("aria-expanded", String(isShown));
    if (!isShown) activate(-1);
  }

  function activate(place) {
    active = place;
    options().forEach((option, index) => {
      option.setAttribute("aria-selected", String(index === place));
      if (index === place) option.scrollIntoView({ block: "nearest" });
    });
    const option = options()[place];
    activeValue = option ? option.dataset.value : null;
    if (option) input.setAttribute("aria-activedescendant", option.id);
    else input.removeAttribute("aria-activedescendant");
  }

  // How the text was understood and how many rows there are: a list that opens is not read out by itself.
  function say() {
    const place = document.getElementById(`${input.id}-said`);
    if (!place) return;
    const notes = [...list.querySelectorAll("[role=option][aria-disabled]")].map((note) => note.textContent.trim());
    const count = options().length;
    const rows = count === 1 ? "1 row in the list" : `${count} rows in the list`;
    place.textContent = list.children.length ? [...notes, rows].join(". ") : "";
  }

  function choose(option) {
    input.value = option.dataset.value;
    show(false);
    const next = document.getElementById(input.dataset.next);
    if (next) {
      next.focus();
      next.select();
    } else {
      input.form.requestSubmit();
    }
  }

  input.setAttribute("role", "combobox");
  input.setAttribute("aria-autocomplete", "list");
  input.setAttribute("aria-controls", list.id);
  input.setAttribute("aria-expanded", "false");

  new MutationObserver(() => {
    if (document.activeElement === input && input.value.trim()) show(true);
    // An answer that comes late keeps the row that was chosen meanwhile, where it still has it.
    activate(activeValue === null ? -1 : options().findIndex((option) => option.dataset.value === activeValue));
    say();
  }).observe(list, { childList: true });

  input.addEventListener("input", () => { if (!input.value.trim()) show(false); });
  input.addEventListener("blur", () => show(false));
  input.addEventListener("keydown", (event) => {
    const count = options().length;
    if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      if (!count) return;
      event.preventDefault();
      show(true);
      const step = event.key === "ArrowDown" ? 1 : -1;
      activate((active + step + count + (active < 0 && step < 0 ? 1 : 0)) % count);
    } else if (event.key === "Enter" && !list.hidden && active >= 0) {
      event.preventDefault();
      choose(options()[active]);
    } else if (event.key === "Escape") {
      show(false);
    }
  });
  // Before the field loses the focus, which would hide the list.
  list.addEventListener("mousedown", (event) => {
    const option = event.target.closest("[role=option]:not([aria-disabled])");
    event.preventDefault();
    if (option) choose(option);
  });
  }

  const selected = document.querySelector("input[data-select]");
  if (selected) {
    const select = () => { if (selected.value === selected.defaultValue) selected.select(); };
    selected.addEventListener("focus", select);
    if (document.activeElement === selected) select();
  }
})();
