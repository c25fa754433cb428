// Draws the charts of a page as they come near, those that htmx brings included, and again for dark, light and paper.
import { drawFirst, drawForPaper, redrawAll } from "./drawing.js";

const near = new IntersectionObserver(
  (entries) => {
    for (const { isIntersecting, target } of entries) {
      if (!isIntersecting) continue;
      near.unobserve(target);
      drawFirst(target);
    }
  },
  { rootMargin: "400px" },
);

const watch = (root) => root.querySelectorAll("figure[data-chart]:not([data-watched])").forEach((figure) => {
  figure.dataset.watched = "";
  near.observe(figure);
});

watch(document);
document.body.addEventListener("htmx:afterSettle", (event) => watch(event.target));
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redrawAll);
window.addEventListener("beforeprint", () => drawForPaper(true));
window.addEventListener("afterprint", () => drawForPaper(false));
