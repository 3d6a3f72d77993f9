import { render } from 'preact';
import { App } from './app.tsx';
import { followAddress } from './kit/route.ts';
import { followNow } from './now/now-state.ts';
import { followRoom } from './room/room-signals.ts';
import { followDeviceLook } from './settings/device-look.ts';
import './style/tokens.css';
import './style/frame.css';
import './style/drawings.css';
import './style/rows.css';
import './style/figures.css';
import './style/tiles.css';
import './style/fields.css';
import './style/now.css';
import './style/alarms.css';
import './style/metric.css';
import './style/more.css';
import { followUnsent } from './kit/unsent.ts';

const waitForRoomMs = 250;

const place = document.getElementById('app');
if (place === null) throw new Error('the page has no #app');
followDeviceLook();
followAddress();
const firstRoom = Promise.all([followRoom(), followNow()]);
followUnsent();
// The room was asked for beside this script and is mostly here with it: a page that first says that it reads is drawn twice.
void Promise.race([firstRoom, new Promise((resolve) => setTimeout(resolve, waitForRoomMs))]).then(() =>
  render(<App />, place),
);
