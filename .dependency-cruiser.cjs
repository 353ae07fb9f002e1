/** The arrows of the data flow: audio → asr → core → ui, joined by app; core knows nothing outside itself. */
const only = (name, from, to, comment) => ({ name, severity: 'error', comment, from: { path: from }, to });
module.exports = {
  forbidden: [
    only('core-alone', '^src/core', { path: '^src/(?!core)' }, 'core/ is pure: no edge may be imported'),
    only(
      'core-libraries',
      '^src/core',
      {
        path: 'node_modules',
        pathNot: 'node_modules/(@noble/hashes|@cfworker/json-schema|papaparse)',
      },
      'core/ takes only libraries without DOM, clock or storage',
    ),
    only(
      'packs-on-core',
      '^src/(packs|lang)',
      { path: '^src/(?!(core|packs|lang))' },
      'a pack and a language are data and pure functions on core/',
    ),
    only('languages-apart', '^src/lang', { path: '^src/packs' }, 'a language knows no emergency'),
    only('core-no-node', '^src/core', { dependencyTypes: ['core'] }, 'core/ runs in any runtime'),
    only(
      'audio-alone',
      '^src/audio',
      { path: '^src/(asr|store|app|ui|cli|server|lab|build)' },
      'an arrow runs backwards',
    ),
    only(
      'asr-before-log',
      '^src/asr',
      { path: '^src/(store|app|ui|cli|server|lab|build)' },
      'an arrow runs backwards',
    ),
    only(
      'store-below-app',
      '^src/store',
      { path: '^src/(audio|asr|app|ui|cli|server|lab|build)' },
      'an arrow runs backwards',
    ),
    only(
      'shared-below-app',
      '^src/shared',
      { path: '^src/(audio|asr|app|ui|cli|server|lab|build)' },
      'the log of several devices knows the record, not the screens',
    ),
    only(
      'audit-over-core',
      '^src/audit',
      { path: '^src/(?!audit|core)' },
      'audit/ is pure: records in, figures out',
    ),
    only('app-below-ui', '^src/app', { path: '^src/(ui|cli|server|lab|build)' }, 'an arrow runs backwards'),
    only(
      'ui-through-app',
      '^src/ui',
      { path: '^src/(audio|asr|cli|server|lab|build)' },
      'the view asks the app, not the boxes',
    ),
    only('no-circles', '^src', { circular: true }, 'circular import'),
  ],
  options: {
    tsConfig: { fileName: 'tsconfig.json' },
    doNotFollow: { path: 'node_modules' },
    tsPreCompilationDeps: true,
    enhancedResolveOptions: { extensions: ['.ts', '.svelte', '.js', '.json'] },
  },
};
