// Bundles the stand-in server, so that plain node runs it.
import { defineConfig } from 'vite';

export default defineConfig({
  build: { ssr: 'dev/server.ts', outDir: '../build/web/stand-in', emptyOutDir: true, target: 'node20' },
  ssr: { noExternal: true },
});
