"use strict";
// Keeps the last visited build on this device, whole: a new one takes over once every file of it is here with its
// digest, between two pages. The list of files was settled when the site was made.

const KEPT = {{ kept|tojson }};
const SCOPE = new URL("./", self.location.href);
const MARK = `journal ${SCOPE.pathname} `; // every build of this folder; other folders of the server have their own
const CACHE = MARK + KEPT.version;
const AT_ONCE = 6; // requests while it is filled
const PICTURE = /^(.*\/photos\/.*-)\d+(\.\w+)$/; // its size stands before the ending

// Filling. What an attempt that was cut short has put away is right already, and is not fetched again.

self.addEventListener("install", (event) => event.waitUntil(fill()));

async function fill() {
  const cache = await caches.open(CACHE);
  const older = await olderCaches();
  const open = KEPT.files.slice();
  async function work() {
    for (let file = open.shift(); file; file = open.shift()) await keep(cache, older, ...file);
  }
  await Promise.all(Array.from({ length: AT_ONCE }, work));
}

async function olderCaches() {
  const names = await caches.keys();
  return Promise.all(names.filter((name) => name.startsWith(MARK) && name !== CACHE).map((name) => caches.open(name)));
}

async function keep(cache, older, path, size, digest) {
  const address = new URL(path, SCOPE).href;
  if (await cache.match(address)) return;
  await cache.put(address, (await fromOlder(older, address, digest)) || (await fetched(address, size, digest)));
}

// The same bytes as the build before has them; a picture has its content in its name.
async function fromOlder(older, address, digest) {
  for (const cache of older) {
    const found = await cache.match(address);
    if (found && (!digest || (await digestOf(await found.clone().arrayBuffer())) === digest)) return found;
  }
  return null;
}

// From the net, and only if it is what the list says: a server may be half way from one build to the next. Past the
// browser's own store, which asks a server by whole seconds and may be told that nothing has changed.
async function fetched(address, size, digest) {
  const answer = await fetch(address, { cache: digest ? "reload" : "default" });
  const bytes = await answer.arrayBuffer();
  const isIt = answer.ok && bytes.byteLength === size && (!digest || (await digestOf(bytes)) === digest);
  if (!isIt) throw new Error(`${address} is not of build ${KEPT.version}`);
  const type = answer.headers.get("Content-Type") || "application/octet-stream";
  return new Response(bytes, { headers: { "Content-Type": type } });
}

async function digestOf(bytes) {
  const sum = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return Array.from(sum, (byte) => byte.toString(16).padStart(2, "0")).join("").slice(0, 32);
}

// Taking over.

self.addEventListener("activate", (event) => event.waitUntil(takeOver()));

async function takeOver() {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name.startsWith(MARK) && name !== CACHE).map((name) => caches.delete(name)));
  await self.clients.claim();
}

self.addEventListener("message", (event) => {
  if (event.data === "take over") self.skipWaiting();
});

// Answering.

self.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method === "GET" && request.url.startsWith(SCOPE.href)) event.respondWith(answer(request));
});

async function answer(request) {
  if (request.mode === "navigate" && (await givesWay())) return turn();
  return (await kept(fileOf(request.url))) || fromNet(request);
}

// Never opened for an answer: that would bring an empty cache to life once the next build has done away with it.
function kept(address) {
  return caches.match(address, { cacheName: CACHE });
}

// Between two pages of the only window the next build takes over; the page that was asked for is then its own.
async function givesWay() {
  return self.registration.waiting && (await self.clients.matchAll({ type: "window" })).length <= 1;
}

function turn() {
  const script = new URL("theme/turn.js", SCOPE).pathname;
  const page = `<!doctype html><html lang="en"><meta charset="utf-8"><title>A newer version</title>
<link rel="icon" href="data:,"><script src="${script}"></script></html>`;
  return new Response(page, { headers: { "Content-Type": "text/html; charset=utf-8", Refresh: "5" } });
}

function fileOf(url) {
  const { origin, pathname } = new URL(url);
  return origin + pathname + (pathname.endsWith("/") ? "index.html" : "");
}

async function fromNet(request) {
  let found = null;
  try {
    found = await fetch(request);
    if (found.ok || found.type === "opaqueredirect") return found;
  } catch (fault) {
    // no net: what is kept has to do
  }
  return (await smaller(request.url)) || found || notHere(request);
}

// The small size of a picture that is not kept itself.
async function smaller(url) {
  const [, start, end] = PICTURE.exec(new URL(url).pathname) || [];
  if (!start) return null;
  const known = KEPT.files.map(([path]) => new URL(path, SCOPE).pathname);
  const small = known.find((path) => path.startsWith(start) && path.endsWith(end));
  return small ? kept(new URL(small, SCOPE).href) : null;
}

function notHere(request) {
  if (request.mode !== "navigate") return Response.error();
  const home = new URL("index.html", SCOPE).pathname;
  const page = `<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<title>Not kept here</title><p>This page is not kept on this device, and there is no net now.
<p><a href="${home}">To the overview</a></html>`;
  return new Response(page, { status: 503, headers: { "Content-Type": "text/html; charset=utf-8" } });
}
