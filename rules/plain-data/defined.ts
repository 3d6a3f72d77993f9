/** What may be undefined is optional, and everything else as it was. */
type Defined<Fields> = { [Name in keyof Fields as undefined extends Fields[Name] ? never : Name]: Fields[Name] } & {
  [Name in keyof Fields as undefined extends Fields[Name] ? Name : never]?: Exclude<Fields[Name], undefined>;
};

/** The fields that have a value: an optional field is left out, never set to undefined. */
export function defined<Fields extends object>(fields: Fields): Defined<Fields> {
  return Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== undefined)) as Defined<Fields>;
}
