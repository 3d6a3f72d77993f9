const entries = [
  { address: '#/log', name: 'Log', about: 'what you entered: correct it or take it back' },
  { address: '#/water', name: 'New salt water', about: 'batches: made, measured, used' },
  { address: '#/long-term', name: 'Long term', about: 'true volume, months ahead, nutrients, laboratory' },
  { address: '#/probes', name: 'Probes', about: 'calibrate, and see how each is doing' },
  { address: '#/titrate', name: 'Titrate alkalinity', about: 'with your own pH probe, step by step' },
  { address: '#/kits', name: 'Test kits', about: 'lots, and how far off each reads' },
  { address: '#/calculate', name: 'Calculate', about: 'titrations, salinity, the carbonate system' },
  { address: '#/settings', name: 'Settings', about: 'units, quiet hours, look of the page' },
  { address: '#/configuration', name: 'Configuration', about: 'what is in force; change it here' },
  { address: '#/phones', name: 'Phones', about: 'add, test or remove one' },
  { address: '#/fleet', name: 'Fleet', about: 'the other hubs on this broker' },
] as const;

/** What is not needed every day. */
export default function MoreView() {
  return (
    <main class="page">
      <h2 tabIndex={-1} data-view-title>
        More
      </h2>
      <ul class="more">
        {entries.map(({ address, name, about }) => (
          <li key={address}>
            <a href={address}>
              <b>{name}</b>
              <span>{about}</span>
            </a>
          </li>
        ))}
      </ul>
    </main>
  );
}
