// Builds the page into build/web/dist; in development, calls to /api go to the stand-in server.
import { svelte } from '@sveltejs/vite-plugin-svelte';
import { defineConfig } from 'vite';

export default defineConfig({
  plugins: [svelte()],
  base: './',
  build: { outDir: '../build/web/dist', emptyOutDir: true, target: 'es2022' },
  server: { proxy: { '/api': `http://127.0.0.1:${process.env.ROOMWRIGHT_PORT ?? 8137}` } },
});
