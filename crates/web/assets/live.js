// Fetches the page's own main part again when something has changed elsewhere.
"use strict";
{
  let seen = Number(document.getElementById("main").dataset.version);
  // What somebody has written and not sent yet must not be swept away.
  const isWritten = (field) => field.matches("select")
    ? [...field.options].some((one) => one.selected !== one.defaultSelected) && field.selectedIndex > 0
    : field.type === "checkbox" || field.type === "radio" ? field.checked !== field.defaultChecked : field.value !== field.defaultValue;
  let waits = 0;
  const refresh = async () => {
    const main = document.getElementById("main");
    // Whoever is typing is not interrupted; the page follows when they leave the field.
    const field = document.activeElement;
    if (main.contains(field) && field.matches("input, textarea, select")) {
      field.addEventListener("blur", refresh, { once: true });
      return;
    }
    if ([...main.querySelectorAll("input:not([type=file]), textarea, select")].some(isWritten)) {
      clearTimeout(waits);
      waits = setTimeout(refresh, 500);
      return;
    }
    const response = await fetch(location.href).catch(() => null);
    if (!response?.ok) return;
    const fresh = new DOMParser().parseFromString(await response.text(), "text/html");
    const open = new Set([...main.querySelectorAll("details[open][id]")].map((one) => one.id));
    const focus = document.activeElement && document.activeElement.id;
    main.replaceWith(fresh.getElementById("main"));
    document.querySelector("footer.block").replaceWith(fresh.querySelector("footer.block"));
    document.getElementById("to-Owed").replaceChildren(...fresh.getElementById("to-Owed").childNodes);
    for (const id of open) document.getElementById(id)?.setAttribute("open", "");
    if (focus) document.getElementById(focus)?.focus();
    seen = Number(document.getElementById("main").dataset.version);
  };
  const versions = new EventSource("/live");
  versions.onmessage = ({ data }) => { if (Number(data) > seen) { seen = Number(data); refresh(); } };
  window.addEventListener("pagehide", () => versions.close());
}
