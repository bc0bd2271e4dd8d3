// When it will be finished takes a moment to reckon: the page fetches that part once it stands.
"use strict";
{
  let known = [];
  const open = new Set();
  // What is folded open stays so when the part is fetched again.
  document.addEventListener("toggle", ({ target }) => {
    if (target.id && target.closest("#finish")) open[target.open ? "add" : "delete"](target.id);
  }, true);

  const put = (place, parts) => {
    place.replaceChildren(...parts.map((one) => one.cloneNode(true)));
    for (const id of open) place.querySelector(`#${CSS.escape(id)}`)?.setAttribute("open", "");
  };

  const fill = async () => {
    const place = document.querySelector("#finish[data-part]");
    if (!place || place.dataset.asked) return;
    place.dataset.asked = "yes";
    place.setAttribute("aria-busy", "true");
    // Until the new figures are there the last ones stand.
    if (known.length) put(place, known);
    const response = await fetch(place.dataset.part).catch(() => null);
    place.removeAttribute("aria-busy");
    // Without an answer the link stays, which says by itself what failed.
    if (!response?.ok) return;
    const fresh = new DOMParser().parseFromString(await response.text(), "text/html").getElementById("finish");
    if (!fresh) return;
    known = [...fresh.childNodes];
    put(place, known);
    if (location.hash === "#finish") place.scrollIntoView({ block: "start" });
  };
  // The page's own main part is exchanged when something changes elsewhere.
  new MutationObserver(fill).observe(document.body, { childList: true });
  fill();
}
