for (const box of document.querySelectorAll("input[data-of]")) {
  const key = "trayful/" + document.title + "/" + box.dataset.of;
  try {
    box.checked = localStorage.getItem(key) === "1";
    box.addEventListener("change", () => localStorage.setItem(key, box.checked ? "1" : "0"));
  } catch { break; }
}
