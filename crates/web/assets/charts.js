// Copies a line that the builder writes into a file of their own.
"use strict";
document.addEventListener("click", async (event) => {
  const button = event.target.closest("[data-copy-line]");
  if (!button) return;
  const line = button.dataset.copyLine;
  let copied = false;
  try {
    await navigator.clipboard.writeText(line);
    copied = true;
  } catch {
    // Plain http, as on the shop network, has no clipboard of that kind: the line is marked and copied the old way.
    const range = document.createRange();
    range.selectNodeContents(document.getElementById("line"));
    const selection = getSelection();
    selection.removeAllRanges();
    selection.addRange(range);
    copied = document.execCommand("copy");
  }
  button.textContent = copied ? "Copied" : "Marked: copy it by hand";
});
