import svelte from 'eslint-plugin-svelte';
import svelteParser from 'svelte-eslint-parser';
import ts from 'typescript-eslint';

/**
 * Few rules, each of which guards something that matters here. A promise nobody waits for may show an entry
 * before it is on the device; a forgotten case of a union lets an outcome pass in silence.
 */
const rules = {
  '@typescript-eslint/no-floating-promises': 'error',
  '@typescript-eslint/no-misused-promises': ['error', { checksVoidReturn: false }],
  '@typescript-eslint/switch-exhaustiveness-check': [
    'error',
    { considerDefaultExhaustiveForUnions: true, requireDefaultForNonUnion: false },
  ],
  '@typescript-eslint/no-explicit-any': 'error',
  '@typescript-eslint/only-throw-error': 'error',
  'no-restricted-syntax': [
    'error',
    {
      selector: "CallExpression[callee.object.name='Date'][callee.property.name='now']",
      message: 'Time is an argument: core/ has no clock.',
    },
  ],
};
const clockAllowed = { ...rules, 'no-restricted-syntax': 'off' };
const parserOptions = {
  projectService: true,
  extraFileExtensions: ['.svelte'],
  tsconfigRootDir: import.meta.dirname,
};

export default [
  { ignores: ['dist/', 'node_modules/', '.cache/', '.artefacts/'] },
  { linterOptions: { reportUnusedDisableDirectives: 'error' } },
  {
    files: ['**/*.ts'],
    languageOptions: { parser: ts.parser, parserOptions },
    plugins: { '@typescript-eslint': ts.plugin },
    rules: clockAllowed,
  },
  { files: ['src/core/**/*.ts'], rules: { 'no-restricted-syntax': rules['no-restricted-syntax'] } },
  {
    files: ['src/**/*.svelte'],
    languageOptions: { parser: svelteParser, parserOptions: { ...parserOptions, parser: ts.parser } },
    plugins: { '@typescript-eslint': ts.plugin, svelte },
    rules: {
      ...clockAllowed,
      'svelte/no-at-html-tags': 'error',
      '@typescript-eslint/no-misused-promises': 'off',
    },
  },
];
