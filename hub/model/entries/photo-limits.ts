/** What a photo may be, and the most bytes of one. */
export const photoTypes = ['image/jpeg', 'image/png', 'image/webp'] as const;
export const mostPhotoBytes = 4 * 1024 * 1024;
