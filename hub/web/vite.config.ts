import preact from '@preact/preset-vite';
import { defineConfig } from 'vite';

/** The page, bundled into one folder that the hub serves; nothing is fetched from anywhere else. */
export default defineConfig({
  root: import.meta.dirname,
  base: './',
  plugins: [preact({ devToolsEnabled: false })],
  build: { outDir: '../../dist/web', emptyOutDir: true, target: 'es2022', modulePreload: { polyfill: false } },
});
