/** One part of en.json, as build/message-sections.ts hands it out: `messages:first`, `messages:desk`, … */
declare module 'messages:*' {
  const section: Record<string, unknown>;
  export default section;
}
