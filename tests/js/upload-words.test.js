import assert from "node:assert/strict";
import { test } from "node:test";

import { localUrl, megabytes, outcome, parsedAnswer, reasonFor, repeated } from "../../static/js/upload/words.js";

test("sizes change their unit at a thousand and at a million bytes", () => {
  assert.deepEqual([0, 999, 1000, 999_000, 1_000_000, 268_435_456].map(megabytes), ["0 B", "999 B", "1 kB", "999 kB", "1.0 MB", "268.4 MB"]);
});

test("only addresses of this server are followed", () => {
  assert.equal(localUrl("/uploads/1/"), "/uploads/1/");
  for (const url of ["//evil.example/", "https:evil", "javascript:alert(1)", "", null, undefined, 7]) assert.equal(localUrl(url), "");
});

test("an answer that is not ours is empty", () => {
  assert.deepEqual(parsedAnswer('{"message": "kept"}'), { message: "kept" });
  for (const text of ["<html>502</html>", "", "null", '"text"', "7"]) assert.deepEqual(parsedAnswer(text), {});
});

test("taken, held already and refused are told apart", () => {
  const message = "said by the server";
  const taken = { message, url: "/u/1/", row: "/u/1/row/" };
  assert.deepEqual(outcome(201, taken, false), { look: "done", word: "accepted", ...taken });
  assert.equal(outcome(409, { message, url: "/u/1/" }, false).word, "already held");
  const unread = outcome(409, { message, url: "/u/1/", unread: "yes" }, false);
  assert.deepEqual([unread.look, unread.word, unread.url], ["failed", "held, but not read", "/u/1/"]);
  assert.deepEqual(outcome(422, { message }, false), { look: "failed", word: "not accepted", message, url: "", again: false });
});

test("trying again is offered where the server or the line failed, not where the file did", () => {
  for (const [status, again] of [[0, true], [500, true], [503, true], [400, false], [413, false], [422, false]]) {
    const found = outcome(status, {}, false);
    assert.equal(found.again, again, String(status));
    assert.equal(found.message, reasonFor(status));
  }
  assert.notEqual(reasonFor(403), reasonFor(413));
});

test("what was cancelled says so, whatever came", () => {
  assert.equal(outcome(201, { message: "kept", url: "/u/1/" }, true).word, "cancelled");
  assert.equal(outcome(0, {}, true).again, true);
});

test("only what was stored now is followed, and only on this server", () => {
  for (const [status, row, cancelled] of [[201, "//evil.example/", false], [201, undefined, false], [409, "/u/1/row/", false], [201, "/u/1/row/", true], [500, "/u/1/row/", false]]) {
    assert.ok(!outcome(status, { message: "said", row }, cancelled).row, `${status} ${row}`);
  }
});

test("of rows that are there twice the later ones are named", () => {
  assert.deepEqual(repeated(["a", "b", "a", "c", "b", "a"]), [2, 4, 5]);
  assert.deepEqual(repeated([]), []);
});
