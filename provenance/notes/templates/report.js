"use strict";
(() => {
  const say = (place, text) => { place.textContent = text; };
  for (const tools of document.querySelectorAll(".tools, .copy")) tools.hidden = false;

  for (const table of document.querySelectorAll("table.parts")) {
    const body = table.tBodies[0];
    const rows = [...body.rows];
    const block = table.closest("section");
    const told = block.querySelector(".told");
    const order = new Intl.Collator("en", { numeric: true });

    table.tHead.querySelectorAll("th[data-name]").forEach((head) => {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = head.textContent;
      // Chromium leaves buttons out of the headings it repeats on each printed page.
      const plain = document.createElement("span");
      plain.className = "plain";
      plain.textContent = head.textContent;
      head.replaceChildren(plain, button);
      button.addEventListener("click", () => {
        const up = head.getAttribute("aria-sort") !== "ascending";
        table.tHead.querySelectorAll("th").forEach((other) => other.removeAttribute("aria-sort"));
        head.setAttribute("aria-sort", up ? "ascending" : "descending");
        const at = head.cellIndex;
        const key = (row) => row.cells[at].dataset.sort ?? row.cells[at].textContent.trim();
        rows.sort((a, b) => (up ? 1 : -1) * order.compare(key(a), key(b)));
        body.append(...rows);
        say(told, `Sorted by ${head.dataset.name}, ${up ? "ascending" : "descending"}.`);
      });
    });

    const search = block.querySelector("input[type=search]");
    search.addEventListener("input", () => {
      const wanted = search.value.trim().toLowerCase();
      let shown = 0;
      for (const row of rows) {
        row.hidden = !row.textContent.toLowerCase().includes(wanted);
        if (!row.hidden) shown += 1;
      }
      say(told, wanted ? `${shown} of ${rows.length} parts shown.` : "");
    });
  }

  const select = (node) => {
    const range = document.createRange();
    range.selectNodeContents(node);
    const selection = window.getSelection();
    selection.removeAllRanges();
    selection.addRange(range);
  };
  for (const button of document.querySelectorAll("button.copy")) {
    const told = button.parentElement.querySelector(".told");
    button.addEventListener("click", async () => {
      const node = document.getElementById(button.dataset.from);
      try {
        await navigator.clipboard.writeText(node.textContent);
        say(told, "Copied.");
      } catch {
        select(node);
        const copied = document.execCommand && document.execCommand("copy");
        say(told, copied ? "Copied." : "Selected: press Ctrl+C to copy.");
      }
    });
  }

  let opened = [];
  window.addEventListener("beforeprint", () => {
    opened = [...document.querySelectorAll("details.print:not([open])")];
    opened.forEach((fold) => { fold.open = true; });
  });
  window.addEventListener("afterprint", () => opened.forEach((fold) => { fold.open = false; }));
})();
