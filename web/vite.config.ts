import { svelte } from '@sveltejs/vite-plugin-svelte';
import { defineConfig } from 'vite';

// `npx vite` serves the page alone; run `pitchbend demo` beside it for something to show.
export default defineConfig({
  base: './',
  plugins: [svelte()],
  build: { outDir: '../server/static', emptyOutDir: true, target: 'es2022', reportCompressedSize: true },
  server: { proxy: { '/ws': { target: 'ws://127.0.0.1:8787', ws: true } } }
});
