import { useState } from 'preact/hooks';
import type { AnswerOf, Route, SaidOf } from '../../../api/contract.ts';
import type { Problem } from '../kit/ask.ts';
import { forget, recall, remember } from '../kit/remembered.ts';
import { newKey } from '../kit/unsent.ts';
import { capital } from '../kit/words.ts';
import { typedInStore } from '../room/read-unit.ts';
import { inUnitsOfNow, type TypedAs, type TypedIn, typedIn } from '../room/typed-units.ts';
import { send } from './hub-ask.ts';

export type Values = Record<string, string>;

/** Which field a refusal in words is about: the first that fits. */
export type Hints = readonly (readonly [RegExp, string])[];

/**
 * What a person types, kept on this device until the hub has it: a reload, a hub that is away or a phone that falls asleep
 * lose nothing. Is not: kept in a private window of a browser that stores nothing.
 */
export type Form = {
  id: string;
  values: Values;
  errors: Values;
  /** What went wrong that is about no single field. */
  trouble: string;
  isBusy: boolean;
  /** The same for every try of one entry, so that the hub stores it once. */
  key: string;
  set(field: string, text: string): void;
  setAll(values: Values): void;
  /** Says what is wrong; the first field that is wrong gets the focus. */
  refuse(errors: Values, trouble?: string): void;
  /** Sends; what was refused stands beside its field. */
  submit<Name extends Route>(route: Name, said: SaidOf<Name>, hints?: Hints): Promise<AnswerOf<Name> | undefined>;
  /** The entry is at the hub: the form begins again. */
  clear(keep?: Values): void;
};

type Kept = { key: string; values: Values; typed: TypedIn };

function keptOf(name: string, initial: Values, typedAs: TypedAs): Kept {
  const typed = typedIn(initial, typedAs);
  try {
    const found = JSON.parse(recall(`draft.${name}`) ?? '') as Partial<Kept>;
    return { key: found.key ?? newKey(), values: { ...initial, ...found.values }, typed: { ...typed, ...found.typed } };
  } catch {
    return { key: newKey(), values: initial, typed };
  }
}

const plain: TypedAs = () => undefined;

/** @param typedAs  of which metric a field is a number: it goes over into another unit with the keeper */
export function useForm(name: string, initial: Values, typedAs: TypedAs = plain): Form {
  const [kept, setKept] = useState(() => keptOf(name, initial, typedAs));
  const [errors, setErrors] = useState<Values>({});
  const [trouble, setTrouble] = useState('');
  const [isBusy, setBusy] = useState(false);
  const { key } = kept;
  const values = inUnitsOfNow(kept.values, kept.typed, typedAs);
  const id = name.replaceAll(/[^a-z0-9-]/gi, '-');

  function change(next: Values): void {
    // Another entry than the one that was sent, if one was.
    const changed = { key: newKey(), values: next, typed: typedIn(next, typedAs) };
    setKept(changed);
    remember(`draft.${name}`, JSON.stringify(changed));
  }

  function refuse(found: Values, more = ''): void {
    setErrors(found);
    setTrouble(more);
    const first = Object.keys(found)[0];
    if (first !== undefined) requestAnimationFrame(() => document.getElementById(fieldId(id, first))?.focus());
  }

  return {
    id,
    values,
    errors,
    trouble,
    isBusy,
    key,
    set(field, text) {
      change({ ...values, [field]: text });
      const { [field]: _, ...others } = errors;
      setErrors(others);
      setTrouble('');
    },
    setAll: (next) => change({ ...values, ...next }),
    refuse,
    async submit(route, said, hints = []) {
      setErrors({});
      setTrouble('');
      setBusy(true);
      const answer = await send(route, said);
      setBusy(false);
      if (answer.ok) return answer.body;
      const [found, more] = placed(answer.problem, Object.keys(values), hints);
      refuse(found, more);
      return undefined;
    },
    clear(keep = {}) {
      forget(`draft.${name}`);
      const next = { ...initial, ...keep };
      setKept({ key: newKey(), values: next, typed: typedIn(next, typedAs) });
      setErrors({});
      setTrouble('');
    },
  };
}

export const fieldId = (form: string, field: string): string => `${form}-${field.replaceAll('.', '-')}`;

/** The hub names the field of its API first; beside the field it says nothing to a person. */
const namedFirst = /^[a-z][a-z0-9_.]*: /;

/** Each mistake that the hub named goes to its field; what fits none is told beside the button. */
function placed({ detail, errors }: Problem, fields: readonly string[], hints: Hints): [Values, string] {
  const found: Values = {};
  const more: string[] = [];
  for (const { field, need } of errors) {
    const name = fields.find((each) => each === field) ?? fields.find((each) => each.startsWith(`${field}.`));
    if (name === undefined) more.push(`${field}: ${need}`);
    else found[name] = need;
  }
  if (errors.length > 0) return [found, more.join('; ')];
  const hinted = hints.find(([words]) => words.test(detail));
  const named = fields.find((field) => detail.startsWith(`${field}:`));
  const name = hinted?.[1] ?? named;
  return name === undefined ? [{}, detail] : [{ [name]: capital(detail.replace(namedFirst, '')) }, ''];
}

/** The number a person typed: a comma is a decimal point. Undefined when nothing is typed, `NaN` when it is no number. */
function numberIn(text: string | undefined): number | undefined {
  const typed = (text ?? '').trim();
  return typed === '' ? undefined : Number(typed.replace(',', '.'));
}

/** Reads the fields of a form one after the other, and remembers all that is wrong with them. */
export function checked(form: Form) {
  const errors: Values = {};
  /** Of a metric, it is typed in the keeper's unit and given back in the store's. */
  const number = (field: string, metric?: string): number | undefined => {
    const found = numberIn(form.values[field]);
    if (found !== undefined && !Number.isFinite(found)) {
      errors[field] = `"${form.values[field]?.trim()}" is not a number. Write it as 25.4.`;
      return undefined;
    }
    return found === undefined || metric === undefined ? found : typedInStore(metric, found);
  };
  const text = (field: string): string | undefined => {
    const found = (form.values[field] ?? '').trim();
    return found === '' ? undefined : found;
  };
  return {
    number,
    text,
    /** With the words for the person when it is missing; 0 then, and the form is not good. */
    neededNumber(field: string, need: string, metric?: string): number {
      const found = number(field, metric);
      if (found === undefined && errors[field] === undefined) errors[field] = need;
      return found ?? 0;
    },
    neededText(field: string, need: string): string {
      const found = text(field);
      if (found === undefined) errors[field] = need;
      return found ?? '';
    },
    wrong(field: string, why: string): void {
      errors[field] = why;
    },
    /** Tells the person what is wrong, if anything is. */
    isGood(): boolean {
      if (Object.keys(errors).length === 0) return true;
      form.refuse(errors);
      return false;
    },
  };
}

/** Without what is undefined: the hub takes no empty cells. */
export function given(fields: Record<string, unknown>): Record<string, unknown> {
  return Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== undefined));
}
