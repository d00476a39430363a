// The Profiles page as the server had it stands over Streamlit's until that has drawn the same, or says why it cannot.
const LATEST = 5000; // [ms] from the first that Streamlit draws: a page that fails has no row of links
const first = document.getElementById("first-view");
const watch = new MutationObserver(() => {
  if (document.querySelector(".st-key-nav a, .stDialog")) end();
  else if (!waiting && document.querySelector("[data-testid=stElementContainer]")) waiting = setTimeout(end, LATEST);
});
let waiting = 0;

function end() {
  watch.disconnect();
  document.querySelector("[data-testid=stMain]")?.scrollTo(0, first.scrollTop);
  first.remove();
}

watch.observe(document.getElementById("root"), { childList: true, subtree: true });
