// Streamlit's one dialog comes when the server no longer answers. It says so in our words, to a screen reader too.
new MutationObserver(() => {
  const title = document.querySelector(".stDialog h2");
  if (title) title.textContent = "The planner has stopped";
}).observe(document.body, { childList: true });
