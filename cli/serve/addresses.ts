/** On which addresses of this machine a page may be shared: those of networks that end in the building. */
import type { NetworkInterfaceInfo } from "node:os";

export interface OwnAddress {
  /** IPv4, in digits. */
  readonly address: string;
  /** The system's name of the way there, such as "eth0". */
  readonly over: string;
}

/**
 * Addresses that no router of the internet passes on: RFC 1918 section 3, and link-local ones, RFC 3927 section 2.1.
 * `others` are all further ones that point outwards.
 */
export function ownAddresses(interfaces: NodeJS.Dict<NetworkInterfaceInfo[]>): {
  readonly local: readonly OwnAddress[];
  readonly others: readonly OwnAddress[];
} {
  const all = Object.entries(interfaces).flatMap(([over, found]) =>
    (found ?? [])
      .filter(({ family, internal }) => family === "IPv4" && !internal)
      .map(({ address }) => ({ address, over })),
  );
  return {
    local: all.filter(({ address }) => isLocal(address)),
    others: all.filter(({ address }) => !isLocal(address)),
  };
}

function isLocal(address: string): boolean {
  const [first = 0, second = 0] = address.split(".").map(Number);
  return (
    first === 10 ||
    (first === 172 && second >= 16 && second <= 31) ||
    (first === 192 && second === 168) ||
    (first === 169 && second === 254)
  );
}
