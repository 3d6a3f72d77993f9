import { signal } from '@preact/signals';
import { forget, recall, remember } from '../kit/remembered.ts';

/** How the page looks on this device: kept here and nowhere else, since a phone in the dark is no wall in the sun. */

export const themes = ['device', 'dark', 'light'] as const;
export type Theme = (typeof themes)[number];

/** In percent of the usual size. */
export const textSizes = [100, 115, 130] as const;
export type TextSize = (typeof textSizes)[number];

export const theme = signal<Theme>(themes.find((each) => each === recall('theme')) ?? 'device');
export const textSize = signal<TextSize>(textSizes.find((each) => String(each) === recall('text-size')) ?? 100);

const lightDevice = matchMedia('(prefers-color-scheme: light)');

function show(): void {
  const root = document.documentElement;
  root.dataset['theme'] = theme.value === 'device' ? (lightDevice.matches ? 'light' : 'dark') : theme.value;
  root.style.setProperty('--text', String(textSize.value / 100));
}

export function chooseTheme(chosen: Theme): void {
  theme.value = chosen;
  if (chosen === 'device') forget('theme');
  else remember('theme', chosen);
  show();
}

export function chooseTextSize(chosen: TextSize): void {
  textSize.value = chosen;
  if (chosen === 100) forget('text-size');
  else remember('text-size', String(chosen));
  show();
}

/** Before anything is drawn, and whenever the device goes over to its other theme. */
export function followDeviceLook(): void {
  lightDevice.addEventListener('change', show);
  show();
}
