import { svelte } from '@sveltejs/vite-plugin-svelte';
import { defineConfig } from 'vitest/config';
import { withoutDataNotes } from './src/build/data-notes.ts';
import { messageSections } from './src/build/message-sections.ts';
import { serveModels } from './src/build/serve-models.ts';
import { serveWasm } from './src/build/serve-wasm.ts';
import { serviceWorker } from './src/build/service-worker-plugin.ts';
import { versionsHere } from './src/build/versions.ts';

export default defineConfig({
  root: 'src',
  publicDir: '../static',
  base: './',
  define: { __VERSIONS__: JSON.stringify(versionsHere()) },
  plugins: [svelte(), withoutDataNotes(), messageSections(), serveModels(), serveWasm(), serviceWorker()],
  build: {
    outDir: '../dist',
    emptyOutDir: true,
    target: 'es2022',
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    rolldownOptions: {
      output: {
        codeSplitting: {
          // What the screens of a live record share, in one file: small files are packed badly.
          groups: [
            {
              name: 'live',
              test: /src\/(ui\/(common|live)|core\/(facts\/(logged|manoeuvres|running)|log|dialogue|vocabulary)|app\/(try|session|listening|running))/,
              minShareCount: 2,
            },
          ],
        },
      },
    },
  },
  worker: { format: 'es' },
  test: {
    root: '.',
    projects: [
      {
        extends: true,
        test: {
          name: 'unit',
          include: ['tests/**/*.test.ts'],
          exclude: ['tests/browser/**', 'tests/speech/**'],
          environment: 'node',
        },
      },
      {
        // Real audio through the real model, one file at a time: two slow cores are the yardstick.
        extends: true,
        test: {
          name: 'speech',
          include: ['tests/speech/**/*.test.ts'],
          fileParallelism: false,
          testTimeout: 300_000,
          hookTimeout: 300_000,
        },
      },
      {
        extends: true,
        test: {
          name: 'browser',
          include: ['tests/browser/**/*.test.ts'],
          fileParallelism: false,
          testTimeout: 180_000,
          hookTimeout: 180_000,
          globalSetup: ['tests/browser/build-once.ts'],
        },
      },
    ],
  },
});
