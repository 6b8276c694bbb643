/** The server's answers. An error comes as its row of the table: word and sentence. */
export interface Refused {
  readonly error: string;
  readonly message: string;
}
export type Answer<T> = { readonly ok: true; readonly value: T } | ({ readonly ok: false } & Refused);
