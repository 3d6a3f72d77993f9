import { renderSVG } from 'uqr';
import { phoneApi } from '../api/phones.ts';
import type { HttpParts, TypedServer } from './parts.ts';

/** Who may come in is the admin's, also to look at. */
const config = { scope: 'admin' } as const;

export function addPhoneRoutes(server: TypedServer, { phones }: HttpParts): void {
  server.get('/api/phones', { config, schema: phoneApi['GET /api/phones'] }, () => {
    const { is, isOpen, hosts, port, isTls, topic, phones: all, boards } = phones.now();
    return {
      broker: is,
      is_open: isOpen,
      hosts,
      port,
      tls: isTls,
      topic,
      boards,
      phones: all.map(({ name, isConnected, isSubscribed }) => ({
        name,
        is_connected: isConnected,
        is_subscribed: isSubscribed,
      })),
    };
  });

  server.post('/api/phones', { config, schema: phoneApi['POST /api/phones'] }, async (request, reply) => {
    const { name, open, by } = request.body;
    const { password, difference, warnings, trouble } = await phones.add(name, open, by);
    const { hosts, port, isTls, topic } = phones.now();
    const address = (login: string) => `${isTls ? 'mqtts' : 'mqtt'}://${login}@${hosts[0] ?? 'HOST'}:${port}`;
    const addresses = { address: address(name), address_with_password: address(`${name}:${password}`) };
    void reply.code(201);
    return {
      hosts,
      port,
      tls: isTls,
      topic,
      user: name,
      password,
      ...addresses,
      qr: renderSVG(addresses.address),
      qr_with_password: renderSVG(addresses.address_with_password),
      changed: difference,
      warnings,
      trouble: trouble ?? null,
    };
  });

  server.post(
    '/api/phones/:name/test',
    { config, schema: phoneApi['POST /api/phones/:name/test'] },
    async (request) => ({ result: await phones.tryLine(request.params.name) }),
  );

  server.delete('/api/phones/:name', { config, schema: phoneApi['DELETE /api/phones/:name'] }, async (request) => {
    const { isClosed } = await phones.remove(request.params.name, 'admin');
    return { is_closed: isClosed };
  });

  server.post('/api/phones/close', { config, schema: phoneApi['POST /api/phones/close'] }, async (request, reply) => {
    await phones.close(request.body.even_boards, request.body.by);
    void reply.code(204);
    return null;
  });
}
