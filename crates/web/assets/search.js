// A longer look for a better order: begins and stops it in place, and follows how far it is.
// No figure is computed here.
"use strict";
{
  const EVERY_MS = 500;
  let following = 0;

  const panel = () => document.getElementById("look");
  const read = async (response) => new DOMParser().parseFromString(await response.text(), "text/html").getElementById("look");

  // The whole panel anew; whoever was on its button stays on the one that takes its place.
  const put = (fresh) => {
    const now = panel();
    if (!now || !fresh) return;
    const held = now.contains(document.activeElement);
    now.replaceWith(fresh);
    if (held) document.getElementById("look-here")?.focus();
    follow();
  };

  // While a search goes on only its figures change: a finger on the button is not disturbed.
  const look = async () => {
    const now = panel();
    if (!now?.dataset.look) return;
    const response = await fetch(now.dataset.look).catch(() => null);
    // The network may be back the next time.
    if (!response?.ok) { follow(); return; }
    const fresh = await read(response);
    if (panel() !== now || !fresh?.dataset.look) { put(fresh); return; }
    document.getElementById("look-bar").value = fresh.querySelector("#look-bar").value;
    document.getElementById("look-far").textContent = fresh.querySelector("#look-far").textContent;
    follow();
  };

  const follow = () => {
    clearTimeout(following);
    following = panel()?.dataset.look ? setTimeout(look, EVERY_MS) : 0;
  };

  document.addEventListener("submit", async (event) => {
    const form = event.target.closest("#look form");
    if (!form) return;
    event.preventDefault();
    const button = form.querySelector("button");
    // Not disabled: it would lose the focus. A second tap is not meant.
    if (button.getAttribute("aria-disabled") === "true") return;
    button.setAttribute("aria-disabled", "true");
    const response = await fetch(form.action, { method: "POST" }).catch(() => null);
    if (response?.ok) { put(await read(response)); return; }
    button.removeAttribute("aria-disabled");
    const says = document.createElement("p");
    says.className = "caution";
    says.setAttribute("role", "alert");
    says.textContent = response ? await response.text() : "The server cannot be reached; try again when the network is back.";
    form.after(says);
  });

  // The page fetches its main part anew when a search begins or ends, on this device or another.
  new MutationObserver(() => { if (panel()?.dataset.look && !following) follow(); }).observe(document.body, { childList: true });
  follow();
}
