// Letters typed before the page could listen (a scanner is that quick) made no request: ask for them now.
(() => {
  "use strict";
  window.addEventListener("load", () => setTimeout(() => {
    for (const input of document.querySelectorAll("input[hx-trigger~=missed]")) {
      const target = document.querySelector(input.getAttribute("hx-target"));
      const isMissed = input.value !== input.defaultValue && input.value.trim() && !target.children.length;
      if (isMissed) input.dispatchEvent(new CustomEvent("missed"));
    }
  }, 400));
})();
