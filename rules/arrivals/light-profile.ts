import { OutOfRange, within } from '../quantity/out-of-range.ts';

/** PAR measured at full light with the sensor where a piece would sit, at a height above the sand bed. */
export type ParAtHeight = { height_cm: number; par_umol_m2_s: number };

/**
 * What is known of the light by height. `measured`: two places or more. `attenuation`: one place, and how PAR grows with
 * height; near a lamp it grows faster than water alone would make it, so measure it in this tank.
 */
export type LightProfile =
  | { kind: 'measured'; pairs: readonly ParAtHeight[] }
  | {
      kind: 'attenuation';
      at: ParAtHeight;
      /** Above 0 up to 20 per metre. */
      attenuation_per_m: number;
      /** How high the rack may stand, cm; the place measured unless given. */
      highest_cm?: number;
    };

/** A profile that was checked: heights rising, PAR rising with them. At least two places. */
export type CheckedProfile = readonly ParAtHeight[];

/**
 * The places of a profile from the lowest up.
 *
 * @returns heights 0 to 500 cm, PAR above 0 up to 5000 µmol/m²/s, both strictly rising
 * @throws OutOfRange  for fewer than two places, two at one height, PAR that does not rise with height, or a number outside
 *   these limits
 */
export function checkedProfile(profile: LightProfile): CheckedProfile {
  const pairs = profile.kind === 'measured' ? profile.pairs : endsByAttenuation(profile);
  if (pairs.length < 2) throw new OutOfRange('places with a PAR', pairs.length, '2 or more, or one and an attenuation');
  const rising = pairs.map(checkedPlace).sort((one, other) => one.height_cm - other.height_cm);
  for (const [index, above] of rising.entries()) {
    const below = rising[index - 1];
    if (below === undefined) continue;
    if (above.height_cm === below.height_cm) {
      throw new OutOfRange(`PAR values at ${above.height_cm} cm`, 2, '1 for each height');
    }
    if (!(above.par_umol_m2_s > below.par_umol_m2_s)) {
      throw new OutOfRange(
        `PAR at ${above.height_cm} cm`,
        above.par_umol_m2_s,
        `more than the ${below.par_umol_m2_s} at ${below.height_cm} cm: light falls with depth. Measure again, or are they depths?`,
      );
    }
  }
  return rising;
}

function checkedPlace({ height_cm, par_umol_m2_s }: ParAtHeight): ParAtHeight {
  within('height above the sand bed, cm', height_cm, 0, 500);
  if (!(par_umol_m2_s > 0 && par_umol_m2_s <= 5000)) {
    throw new OutOfRange(`PAR at ${height_cm} cm, µmol/m²/s`, par_umol_m2_s, 'above 0, at most 5000');
  }
  return { height_cm, par_umol_m2_s };
}

function endsByAttenuation(profile: Extract<LightProfile, { kind: 'attenuation' }>): ParAtHeight[] {
  const at = checkedPlace(profile.at);
  const perMetre = profile.attenuation_per_m;
  if (!(perMetre > 0 && perMetre <= 20)) throw new OutOfRange('attenuation, 1/m', perMetre, 'above 0, at most 20');
  const highest_cm = within('highest place of the rack, cm', profile.highest_cm ?? at.height_cm, 0, 500);
  return [0, highest_cm].map((height_cm) => ({
    height_cm,
    par_umol_m2_s: at.par_umol_m2_s * Math.exp((perMetre * (height_cm - at.height_cm)) / 100),
  }));
}

/**
 * PAR at a height: between two places it grows by an equal part for each centimetre, as light does in water.
 *
 * @param height_cm  from the lowest to the highest place; nothing is carried past them
 * @returns µmol/m²/s at full light; on a place its own value
 * @throws OutOfRange  outside the places
 * @source Beer–Lambert law, from place to place
 */
export function parAtHeight(profile: CheckedProfile, height_cm: number): number {
  within('height above the sand bed, cm', height_cm, profile[0]!.height_cm, profile.at(-1)!.height_cm);
  const index = Math.max(
    1,
    profile.findIndex((place) => place.height_cm >= height_cm),
  );
  const [below, above] = [profile[index - 1]!, profile[index]!];
  if (height_cm === above.height_cm) return above.par_umol_m2_s;
  const share = (height_cm - below.height_cm) / (above.height_cm - below.height_cm);
  return below.par_umol_m2_s * (above.par_umol_m2_s / below.par_umol_m2_s) ** share;
}

/**
 * The height that has a PAR: the inverse of `parAtHeight`.
 *
 * @throws OutOfRange  for a PAR that no height between the lowest and the highest place has
 */
export function heightForPar(profile: CheckedProfile, par_umol_m2_s: number): number {
  const [lowest, highest] = [profile[0]!.par_umol_m2_s, profile.at(-1)!.par_umol_m2_s];
  // A PAR that came back from a daily integral may miss an end by the last digit of a float.
  const par = par_umol_m2_s * (1 - 1e-12) <= highest ? Math.min(par_umol_m2_s, highest) : par_umol_m2_s;
  const found = par * (1 + 1e-12) >= lowest ? Math.max(par, lowest) : par;
  within('PAR wanted, µmol/m²/s', found, lowest, highest);
  const index = Math.max(
    1,
    profile.findIndex((place) => place.par_umol_m2_s >= found),
  );
  const [below, above] = [profile[index - 1]!, profile[index]!];
  const share = Math.log(found / below.par_umol_m2_s) / Math.log(above.par_umol_m2_s / below.par_umol_m2_s);
  return below.height_cm + share * (above.height_cm - below.height_cm);
}
