/** Parts of the library whose types lie in another folder than their code. */
declare module '@xenova/transformers/src/utils/generation.js' {
  export * from '@xenova/transformers/types/utils/generation';
}
