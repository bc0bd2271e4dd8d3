// What takes a moment to reckon or is large is fetched once the page stands: when it will be finished, and the
// drawing that is in view.
"use strict";
{
  // The last answer of each address: it stands until the next one is there.
  const known = new Map();
  const open = new Set();

  const put = (place, parts) => {
    place.replaceChildren(...parts.map((one) => one.cloneNode(true)));
    // What is folded open stays so when the part is fetched again.
    for (const id of open) place.querySelector(`#${CSS.escape(id)}`)?.setAttribute("open", "");
  };

  const fill = async (place, address, id) => {
    if (place.dataset.asked) return;
    place.dataset.asked = "yes";
    place.setAttribute("aria-busy", "true");
    if (known.has(address)) put(place, known.get(address));
    const response = await fetch(address).catch(() => null);
    place.removeAttribute("aria-busy");
    // Without an answer the link stays, which says by itself what failed.
    if (!response?.ok) return;
    const fresh = new DOMParser().parseFromString(await response.text(), "text/html").getElementById(id);
    if (!fresh) return;
    known.set(address, [...fresh.childNodes]);
    put(place, known.get(address));
  };

  const look = async () => {
    for (const place of document.querySelectorAll("[data-drawing]")) {
      if (place.checkVisibility()) fill(place, place.dataset.drawing, "drawn");
    }
    const place = document.querySelector("#finish[data-part]");
    if (!place || place.dataset.asked) return;
    await fill(place, place.dataset.part, "finish");
    if (location.hash === "#finish") place.scrollIntoView({ block: "start" });
  };

  document.addEventListener("toggle", ({ target }) => {
    if (target.id && target.closest("#finish")) open[target.open ? "add" : "delete"](target.id);
    if (target.id === "column") look();
  }, true);
  window.addEventListener("resize", look);
  // The page's own main part is exchanged when something changes elsewhere.
  new MutationObserver(look).observe(document.body, { childList: true });
  look();
}
