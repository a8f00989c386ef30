import { svelte } from '@sveltejs/vite-plugin-svelte';
import { defineConfig } from 'vitest/config';

export default defineConfig({
  plugins: [svelte()],
  test: { include: ['**/*_test.ts'], environment: 'node', pool: 'threads', maxWorkers: 2, testTimeout: 120_000 },
});
