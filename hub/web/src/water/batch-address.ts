export const batchAddress = (id: string): string => `#/water/${encodeURIComponent(id)}`;
