// What the build config may know of worker.mjs.
export function worker(): unknown;
