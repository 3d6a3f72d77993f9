/**
 * How a probe is called: by the keeper's name, else by what it measures, with its id where the hub says that this is not enough.
 *
 * @param name  as the hub gives it; see `hub/model/config/probe-name.ts`
 */
export function probeName({ id, name, label }: { id: string; name: string | null; label: string }): string {
  if (name === null) return label;
  return name === id ? `${label} (${id})` : name;
}
