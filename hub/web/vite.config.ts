import { join } from 'node:path';
import preact from '@preact/preset-vite';
import { defaultClientConditions, defineConfig } from 'vite';
import { compressPlugin } from './compress-plugin.ts';
import { serviceWorkerPlugin, workerFile } from './service-worker-plugin.ts';

const sources = import.meta.dirname;

/** The page, bundled into one folder that the hub serves; nothing is fetched from anywhere else. */
export default defineConfig({
  root: sources,
  base: './',
  // `#rules/…` are the sources, as everywhere but in what is installed.
  resolve: { conditions: ['source', ...defaultClientConditions] },
  plugins: [preact({ devToolsEnabled: false }), serviceWorkerPlugin(), compressPlugin()],
  build: {
    outDir: '../../dist/web',
    emptyOutDir: true,
    target: 'es2022',
    modulePreload: { polyfill: false },
    rolldownOptions: {
      input: { index: join(sources, 'index.html'), worker: join(sources, 'src/offline/service-worker.ts') },
      output: {
        // What all views share is one script beside that of the first view, and not three.
        codeSplitting: { groups: [{ name: 'shared', test: /node_modules|along-table/ }] },
        entryFileNames: ({ name }) => (name === 'worker' ? workerFile : 'assets/[name]-[hash].js'),
      },
    },
  },
});
