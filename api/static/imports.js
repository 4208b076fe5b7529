// Shows how much of a file is sent, and lets one stop that. Without this file the form sends by itself.
(() => {
  "use strict";
  const form = document.getElementById("upload");
  const box = document.getElementById("sending");
  if (!form || !box) return;
  const file = form.elements.file;
  const bar = document.getElementById("sent");
  const words = document.getElementById("sent-words");
  const told = document.getElementById("send-told");
  const button = form.querySelector("button[type=submit]");
  const megabytes = (bytes) => (bytes / 1e6).toFixed(1);
  let request = null;

  function tell(text, isWrong) {
    told.textContent = text;
    told.classList.toggle("wrong", isWrong);
  }

  function show(isSending) {
    box.hidden = !isSending;
    button.hidden = isSending;
  }

  function end(text) {
    request = null;
    show(false);
    tell(text, true);
    button.focus();
  }

  form.addEventListener("submit", (event) => {
    event.preventDefault();
    if (request || !file.files.length) return;
    const most = Number(form.dataset.mostBytes);
    if (file.files[0].size > most) {
      tell(`This file has ${megabytes(file.files[0].size)} MB; at most ${megabytes(most)} MB are taken here. Split it, or load it on the command line.`, true);
      return;
    }
    const began = performance.now();
    let step = 0;
    request = new XMLHttpRequest();
    request.open("POST", form.action);
    request.setRequestHeader("Accept", "text/html");
    request.upload.addEventListener("progress", (part) => {
      if (!part.lengthComputable) return;
      const percent = Math.floor((100 * part.loaded) / part.total);
      bar.value = percent;
      const seconds = (performance.now() - began) / 1000;
      const rate = seconds > 1 ? `, ${megabytes(part.loaded / seconds)} MB a second` : "";
      words.textContent = `${megabytes(part.loaded)} of ${megabytes(part.total)} MB sent${rate}`;
      if (Math.floor(percent / 25) > step) {
        step = Math.floor(percent / 25);
        tell(step < 4 ? `${25 * step} percent sent` : "All sent; the file is being looked at.", false);
      }
    });
    request.upload.addEventListener("load", () => {
      bar.removeAttribute("value");
      words.textContent = "All sent; the file is being looked at.";
    });
    request.addEventListener("load", () => {
      if (request.status < 400) {
        location.assign(request.responseURL);
        return;
      }
      const page = new DOMParser().parseFromString(request.responseText, "text/html");
      const said = page.querySelector("main .message p, main p");
      end(said ? said.textContent : `The file was not taken (${request.status}).`);
    });
    request.addEventListener("error", () => end("The line broke before all was sent; nothing was kept. Send it again."));
    request.addEventListener("abort", () => end("Sending was stopped; nothing was kept."));
    show(true);
    tell("", false);
    document.getElementById("stop-sending").focus();
    request.send(new FormData(form));
  });

  document.getElementById("stop-sending").addEventListener("click", () => request && request.abort());
  // Back from the next page, as the browser kept this one.
  window.addEventListener("pageshow", () => { request = null; show(false); });
})();
