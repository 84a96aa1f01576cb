// another window of this page, or this one brought back from the browser's memory
window.addEventListener("storage", (event) => {
  if (event.key !== given.key || !store) return;
  take(event.newValue);
  draw();
});
window.addEventListener("pageshow", (event) => {
  if (!event.persisted || !store) return;
  take(store.getItem(given.key));
  draw();
});
window.addEventListener("beforeunload", (event) => {
  if (!store && visits.flatMap(rowsOf).length > 0) event.preventDefault();
});

open();
draw();
