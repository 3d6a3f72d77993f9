import type { PlaceProps } from '../places.ts';

export default function FleetView({ view }: PlaceProps) {
  return (
    <main class="page">
      <h2 tabIndex={-1} data-view-title>
        Fleet
      </h2>
      <p>Fleet of {view.site}</p>
    </main>
  );
}
