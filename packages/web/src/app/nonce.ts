/** The nonce that the server gave this page: style elements that the editor makes must carry it. */
export const cspNonce = (): string => document.querySelector<HTMLMetaElement>('meta[name="csp-nonce"]')?.nonce ?? "";
