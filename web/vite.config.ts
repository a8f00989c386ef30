// Builds the page into build/web/dist; in development, calls to /api go to the stand-in server.
import { svelte } from '@sveltejs/vite-plugin-svelte';
import { defineConfig, type PluginOption } from 'vite';
import { worker } from './scripts/worker.mjs';

export default defineConfig({
  plugins: [svelte(), worker() as PluginOption],
  base: './',
  build: { outDir: '../build/web/dist', emptyOutDir: true, target: 'es2022' },
  server: { proxy: { '/api': `http://127.0.0.1:${process.env.ROOMWRIGHT_PORT ?? 8137}` } },
});
