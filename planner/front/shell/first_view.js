// The Profiles page as the server had it stands over Streamlit's until that has drawn the same, or says why it cannot.
const DRAWN = ".st-key-nav a, .stDialog, [data-test-script-state=notRunning] [data-testid=stElementContainer]";
new MutationObserver((_, watch) => {
  if (!document.querySelector(DRAWN)) return;
  watch.disconnect();
  const first = document.getElementById("first-view");
  document.querySelector("[data-testid=stMain]")?.scrollTo(0, first.scrollTop);
  first.remove();
}).observe(document.getElementById("root"), { childList: true, subtree: true, attributes: true });
