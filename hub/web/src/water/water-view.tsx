import type { PlaceProps } from '../places.ts';

export default function WaterView({ view }: PlaceProps) {
  return (
    <main class="page">
      <h2 tabIndex={-1} data-view-title>
        New salt water
      </h2>
      <p>New salt water of {view.site}</p>
    </main>
  );
}
