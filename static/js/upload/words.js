// What the upload says of sizes and of the server's answers. No DOM.

export const megabytes = (bytes) => {
  if (bytes < 1e3) return `${bytes} B`;
  return bytes < 1e6 ? `${Math.round(bytes / 1e3)} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
};

// Why a file was not taken, where the answer itself says nothing. status: of HTTP, or 0 when no answer came.
export const reasonFor = (status) => {
  if (status === 0) return "The connection broke. If the file had arrived all the same, sending it again does no harm.";
  if (status === 401 || status === 403) {
    return "Your login has ended or does not allow this. Reload the page and log in.";
  }
  if (status === 413) return "The server refuses files of this size.";
  return `The server could not take this file (answer ${status}). Try again, or tell the person who runs the server.`;
};

// The answer as an object, whatever came: an error page of a proxy is not ours, and the status says what is known.
export const parsedAnswer = (text) => {
  try {
    const answer = JSON.parse(text);
    return answer && typeof answer === "object" ? answer : {};
  } catch {
    return {};
  }
};

// An address of this server, or nothing.
export const localUrl = (url) => (typeof url === "string" && url.startsWith("/") && !url.startsWith("//") ? url : "");

// How a finished sending is shown: {look, word, message, url, again}; row: where the row of what was stored is, which
// says from then on how far it is.
export const outcome = (status, answer, cancelled) => {
  const url = localUrl(answer.url);
  if (cancelled) {
    return {
      look: "failed", word: "cancelled", message: "If it had arrived all the same, it is in the list of uploads.", again: true,
    };
  }
  if (status >= 200 && status < 300) {
    return { look: "done", word: "accepted", message: answer.message, url, row: localUrl(answer.row) };
  }
  if (status === 409 && answer.unread) return { look: "failed", word: "held, but not read", message: answer.message, url };
  if (status === 409) return { look: "done", word: "already held", message: answer.message, url };
  const again = status === 0 || status >= 500;
  return { look: "failed", word: "not accepted", message: answer.message || reasonFor(status), url, again };
};

// Indices of the names that were there before.
export const repeated = (names) => names.flatMap((name, index) => (names.indexOf(name) < index ? [index] : []));
