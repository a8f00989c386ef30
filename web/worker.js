// The service worker: the page itself, kept in the browser, so that it opens without a network. It
// holds one version of the page at a time and never touches what goes to /api. Its version and the
// names of the files are filled in when the page is built (scripts/worker.mjs).
const version = 'VERSION';
const files = FILES;
const name = `roomwright-page-${version}`;

self.addEventListener('install', (event) => {
  event.waitUntil(caches.open(name).then((cache) => cache.addAll(files)));
});
self.addEventListener('activate', (event) => {
  const others = (all) => all.filter((one) => one.startsWith('roomwright-page-') && one !== name);
  event.waitUntil(caches.keys().then((all) => Promise.all(others(all).map((one) => caches.delete(one)))).then(() => self.clients.claim()));
});
// the page asks for it when its reader wants the newer one
self.addEventListener('message', (event) => {
  if (event.data === 'take over') void self.skipWaiting();
});
self.addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== 'GET' || url.origin !== self.location.origin || url.pathname.startsWith('/api')) return;
  const wanted = request.mode === 'navigate' && url.pathname === '/' ? './' : request;
  event.respondWith(caches.open(name).then((cache) => cache.match(wanted)).then((found) => found ?? fetch(request)));
});
