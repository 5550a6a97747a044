// A tablet that waits at the laptop: it asks now and then whether somebody admitted it, and goes on by itself. The page is not loaded anew
// meanwhile, so that whoever reads it by ear or with a magnifier keeps the place.
const PAUSE = 4000; // ms between two questions

async function ask() {
  try {
    const answer = await fetch("/pair", { cache: "no-store" });
    if (!(await answer.text()).includes("data-waits")) return location.reload();
  } catch {
    // the laptop does not answer just now: it is asked again
  }
  setTimeout(ask, PAUSE);
}
setTimeout(ask, PAUSE);
