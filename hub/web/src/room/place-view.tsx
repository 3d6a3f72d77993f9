import type { ComponentType } from 'preact';
import { useEffect, useState } from 'preact/hooks';
import type { Place } from '../kit/place-names.ts';
import { loadPlace, type PlaceProps } from '../kit/places.ts';

/** Loads a view and shows it; says so when the hub cannot give it. */
export function PlaceView({ place, ...props }: PlaceProps & { place: Place }) {
  const [loaded, setLoaded] = useState<{ place: Place; View: ComponentType<PlaceProps> }>();
  const [isLost, setLost] = useState(false);

  useEffect(() => {
    let isCurrent = true;
    setLost(false);
    loadPlace(place).then(
      ({ default: View }) => isCurrent && setLoaded({ place, View }),
      () => isCurrent && setLost(true),
    );
    return () => {
      isCurrent = false;
    };
  }, [place]);

  if (isLost)
    return (
      <main class="page">
        <p role="status">The hub did not send this page. Try again when the hub is back.</p>
      </main>
    );
  if (loaded?.place !== place)
    return (
      <main class="page">
        <p class="loading">Opening …</p>
      </main>
    );
  return <loaded.View {...props} />;
}
