// Scans are taken at once, queued, and sent one after another; the scan field keeps the focus.
// Without this file the page works by its forms alone.
(() => {
  "use strict";
  const form = document.getElementById("scan-form");
  const lines = document.getElementById("lines");
  const waiting = document.getElementById("waiting");
  if (!form || !lines) return;
  const code = form.elements.code;
  const queue = [];
  let isSending = false;

  const makeId = () => [...crypto.getRandomValues(new Uint8Array(12))].map((byte) => byte.toString(16).padStart(2, "0")).join("");

  function tellWaiting(text) {
    waiting.hidden = !text;
    waiting.textContent = text;
  }

  async function send(action, fields) {
    const answer = await fetch(action, {
      method: "POST",
      body: new URLSearchParams(fields),
      headers: { "X-Part-Of-Page": "lines", "Accept": "text/html" },
      redirect: "manual",
      signal: AbortSignal.timeout(15000),
    });
    if (answer.type === "opaqueredirect" || answer.status === 401 || answer.status === 404 || answer.status === 409) {
      location.reload(); // signed out, booked or thrown away meanwhile
      return;
    }
    if (!answer.ok) throw new Error(String(answer.status));
    lines.innerHTML = await answer.text();
  }

  async function work() {
    if (isSending) return;
    isSending = true;
    while (queue.length) {
      try {
        await send(queue[0].action, queue[0].fields);
        queue.shift();
        tellWaiting(queue.length > 2 ? `${queue.length} scans are being sent.` : "");
      } catch {
        tellWaiting(`No answer: ${queue.length} not sent yet. They are kept here and sent again; leave this page open.`);
        await new Promise((resolve) => setTimeout(resolve, 2000));
      }
    }
    isSending = false;
  }

  document.addEventListener("submit", (event) => {
    const sent = event.target;
    if (sent !== form && !lines.contains(sent)) return;
    event.preventDefault();
    const fields = [...new FormData(sent)];
    const by = event.submitter;
    if (by && by.name) fields.push([by.name, by.value]);
    if (sent === form) {
      if (!code.value.trim()) return;
      fields.splice(0, fields.length, ["code", code.value], ["scan_id", makeId()]);
      code.value = "";
    }
    queue.push({ action: sent.action, fields });
    code.focus();
    work();
  });

  // Scanners may end with a tab instead of a return.
  code.addEventListener("keydown", (event) => {
    if (event.key === "Tab" && !event.shiftKey && code.value.trim()) {
      event.preventDefault();
      form.requestSubmit();
    }
  });

  // A scan that comes while nothing is being typed elsewhere belongs into the scan field.
  document.addEventListener("keydown", (event) => {
    const isTyping = event.target.closest("input, textarea, select, button, a, summary");
    if (!isTyping && event.key.length === 1 && !event.ctrlKey && !event.metaKey && !event.altKey) code.focus();
  });

  window.addEventListener("beforeunload", (event) => {
    if (queue.length) event.preventDefault();
  });
})();
