// Says aloud what only the eye would notice: for readers of the screen, in the status line of templates/base.html.
export const announce = (text) => {
  const place = document.getElementById("announce");
  if (place) place.textContent = text;
};
