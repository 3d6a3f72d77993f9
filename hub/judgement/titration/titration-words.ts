import type { Guidance } from '#rules/titration/guided-titration.ts';
import type { GuidedWarning } from '#rules/titration/guided-warnings.ts';

/**
 * Cautions of the trade for acid and a glass electrode. The label of the acid, local rules and licensed practice stand above them.
 */
export const titrationCautions = [
  "Read the acid's label first and keep to it. Gloves and eye protection; ventilate; keep it from children and pets.",
  'To dilute acid, pour acid into water, never water into acid. Acid on skin or in an eye: rinse with plenty of water, then a physician or a poison centre.',
  'The bulb of the probe is thin glass: keep it clear of the stirrer bar and the wall. Broken glass: gloves, and not into the tank.',
  'Switch off whatever doses, heats or fills by this probe until it is back in the tank.',
  'Rinse the probe with pure water before it goes into the sample, and again before it goes back.',
  'Never pour the sample back into the tank. Discard it by local rules.',
] as const;

const warningWords: Record<GuidedWarning, string> = {
  probe_silent: 'No signal from the probe for a minute. Check its plug and its board; the run waits.',
  acid_without_response:
    'The acid has hardly moved the pH. Is the probe in the beaker, is it stirred, is this the acid?',
  probe_not_settling:
    'The probe has not settled for three minutes. Check the stirring and the bulb; a probe that drifts wants cleaning and its buffers.',
  probe_noisy:
    'The readings scatter by more than 0.03 pH. Check for a ground loop, the plug, and a stirrer too close to the bulb.',
  co2_cut_short: 'The wait for the CO2 was cut short. The interval allows for all of it still being in the sample.',
  co2_not_leaving:
    'It is not clear that the CO2 has left. Bubble air through the sample or stir harder next time; the interval allows for what may be left.',
  went_too_far: 'That went close to pH 3 at once, so few points are left. Take a fresh sample for a narrow interval.',
  few_points: 'Few points lie between pH 3 and 4, so the interval is wide. Smaller portions from pH 4 on narrow it.',
  no_fit:
    'The points give no alkalinity. Check the strength of the acid, the sample and the units; then take a fresh sample.',
  electrode_far_off: 'The probe reads more than 0.25 off. The result does not suffer, but calibrate the probe.',
  unlike_the_tank:
    'The result is far from what the tank is thought to hold. Check the strength of the acid, the amounts and the sample; a second run decides.',
  gran_disagrees: "Gran's line disagrees by more than 2 %. Look for a mistyped amount or a probe that jumped.",
};

export type SaidWarning = { warning: GuidedWarning; say: string };

export function saidWarnings(warnings: readonly GuidedWarning[]): SaidWarning[] {
  return warnings.map((warning) => ({ warning, say: warningWords[warning] }));
}

/** The one thing to do now, in a sentence or two. */
export function saidDeed({ deed, probe, hold }: Guidance, unit: 'mL' | 'g', nowMs: number): string {
  if (deed.do === 'add') return `Add ${deed.amount} ${unit} of acid: ${deed.total} ${unit} in all.`;
  if (deed.do === 'stop') {
    if (deed.why === 'clock') {
      return 'Stop: the clock was moved during this run. Save what is known so far, or give it up and take a fresh sample.';
    }
    const why = deed.why === 'bottom' ? 'pH 3 is reached' : 'more acid would hardly narrow the interval';
    return `Done: ${why}. Save the result.`;
  }
  if (deed.for === 'co2' && hold !== undefined) {
    const left_s = Math.ceil(Math.max(0, hold.shortest_ms - hold.waited_ms) / 1000);
    if (left_s === 0) return 'Wait: pH still rises while CO2 leaves. Keep the air or the stirrer going.';
    return `Wait for the CO2 to leave: ${minutesAndSeconds(left_s)} more. Keep the air or the stirrer going.`;
  }
  if (probe.state === 'silent') return 'Wait: no signal from the probe.';
  const waited_s = Math.round((nowMs - deed.sinceMs) / 1000);
  return probe.state === 'moving'
    ? `Wait: the probe is still moving, ${waited_s} s so far.`
    : `Wait: too few readings yet, ${waited_s} s so far.`;
}

function minutesAndSeconds(seconds: number): string {
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, '0')} min`;
}
