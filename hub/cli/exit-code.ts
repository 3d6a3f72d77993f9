/** 0 done, 1 the data say no, 2 wrong usage. */
export const exitCode = { done: 0, dataSayNo: 1, wrongUsage: 2 } as const;
