/** All of the page that comes after what people wait for: a script of its own, which is read and run by then. */
import { hostOf } from "./engine/host.ts";
import { partsFor } from "./parts.ts";
import { handedOver } from "./room/hand-over.ts";
import { openRoom } from "./room/room.ts";

openRoom({ sight: handedOver(), host: hostOf(document), parts: partsFor, storage: () => localStorage });
