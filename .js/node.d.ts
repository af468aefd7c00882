// What tests use of Node, for the checker.

declare module "node:process" {
  export const stdin: unknown;
  export const stdout: { write(text: string): void };
}
declare module "node:stream/consumers" {
  export function text(stream: unknown): Promise<string>;
}
