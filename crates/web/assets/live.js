// Fetches the page's own main part again when something has changed elsewhere.
"use strict";
{
  let seen = Number(document.getElementById("main").dataset.version);
  const refresh = async () => {
    const main = document.getElementById("main");
    // Whoever is typing is not interrupted; the page follows when they leave the field.
    const field = document.activeElement;
    if (main.contains(field) && field.matches("input, textarea, select")) {
      field.addEventListener("blur", refresh, { once: true });
      return;
    }
    const response = await fetch(location.href).catch(() => null);
    if (!response?.ok) return;
    const fresh = new DOMParser().parseFromString(await response.text(), "text/html");
    const open = new Set([...main.querySelectorAll("details[open][id]")].map((one) => one.id));
    const focus = document.activeElement && document.activeElement.id;
    main.replaceWith(fresh.getElementById("main"));
    document.querySelector("footer.block").replaceWith(fresh.querySelector("footer.block"));
    for (const id of open) document.getElementById(id)?.setAttribute("open", "");
    if (focus) document.getElementById(focus)?.focus();
    seen = Number(document.getElementById("main").dataset.version);
  };
  const versions = new EventSource("/live");
  versions.onmessage = ({ data }) => { if (Number(data) > seen) { seen = Number(data); refresh(); } };
  window.addEventListener("pagehide", () => versions.close());
}
