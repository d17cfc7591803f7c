/** The small forms of the plan menu: each asks what only a person knows, with what the rig suggests filled in. */
import { readLength } from "../../shared/as-said.ts";
import { defaultOf } from "../../shared/defaults.ts";
import { isStreamType, LINK_TYPES, linkType } from "../../shared/link-types.ts";
import type { DevicePlan, LinkPlan, Plan } from "../../shared/plan.ts";
import { DEVICE_KINDS } from "../../shared/scenario-schema-devices.ts";
import { theDevice } from "../../sim/tell/words.ts";
import { h } from "../dom.ts";
import type { NewCable } from "../room/cable-edits.ts";
import { labelled } from "../room/event-form.ts";
import type { RigActions, Thing } from "./rig-actions.ts";
import { sourcesInPlan } from "./sources.ts";

export interface PlanForm {
  readonly element: HTMLFormElement;
  readonly says: HTMLElement;
  /** Why it could not be done; null: it is. */
  submit(): string | null;
  /** The lane that is chosen afterwards, from the one that was; left out: that one. */
  readonly chosen?: (lane: string | null) => string | null;
}

const LENGTH_METRES_MAX = 100_000;
const LENGTH_ASSUMED = defaultOf("link", "lengthMetres");

export function renameForm(
  rig: RigActions,
  kind: Thing,
  now: { readonly id: string; readonly name?: string },
): PlanForm {
  const id = textField(now.id);
  const name = now.name === undefined ? null : textField(now.name === now.id ? "" : now.name);
  return form(
    [
      ...(name === null ? [] : [labelled("Name", name)]),
      labelled(name === null ? "Name" : "Short name, as cables and events call it", id),
    ],
    "Call it so",
    {
      submit: () => rig.rename(kind, now.id, { id: id.value.trim(), ...(name && { name: name.value }) }),
      chosen: (lane) => lane?.replace(`${kind} ${now.id}`, `${kind} ${id.value.trim()}`) ?? null,
    },
  );
}

export function sourcesForm(plan: Plan, rig: RigActions, device: DevicePlan): PlanForm {
  let asked: readonly string[] = device.clockSources;
  const editor = sourcesInPlan(
    plan,
    device,
    asked,
    (sources) => {
      asked = sources;
      element.requestSubmit();
    },
    "Set it so from the beginning",
  );
  const says = h("p", { class: "form-problem", role: "alert" });
  const element = h("form", { class: "plan-form" }, editor, says);
  return { element, says, submit: () => rig.setSources(device.id, asked) };
}

export function removeForm(rig: RigActions, kind: Thing, id: string, it: string): PlanForm {
  return form([h("p", {}, rig.goesWith(kind, id) || "Nothing goes with it.")], `Take ${it} out`, {
    submit: () => rig.remove(kind, id),
    chosen: () => null,
  });
}

export function spareForm(rig: RigActions, link: LinkPlan): PlanForm | null {
  const proposed = rig.proposed(link.a.device, link.b.device, link.id);
  if (proposed === null) return null;
  const fields = cableFields(proposed, false, (id) => id);
  return form(fields.elements, "Add the spare", { submit: () => fields.problem() ?? rig.join(fields.cable()) });
}

export function joinForm(plan: Plan, rig: RigActions, device: DevicePlan): PlanForm | null {
  const others = plan.devices.filter(({ id }) => id !== device.id);
  const called = (id: string) => plan.devices.find((one) => one.id === id)?.name ?? id;
  const first = others[0] && rig.proposed(device.id, others[0].id);
  if (!first) return null;
  const other = choice(
    others.map(({ id, name }) => [id, name]),
    others[0]!.id,
  );
  const place = h("span", { class: "more-fields" });
  let fields = cableFields(first, true, called);
  const draw = () => place.replaceChildren(...fields.elements);
  other.addEventListener("change", () => {
    const cable = rig.proposed(device.id, other.value);
    if (cable !== null) fields = cableFields(cable, true, called);
    draw();
  });
  draw();
  return form([labelled(`${device.name} and`, other), place], "Add the cable", {
    submit: () => fields.problem() ?? rig.join(fields.cable()),
  });
}

export function newDeviceForm(rig: RigActions, at: DevicePlan): PlanForm | null {
  const name = textField("Guest desk");
  const kind = choice(
    DEVICE_KINDS.map((one) => [one, one.replace("-", " ")]),
    "desk",
  );
  const place = h("span", { class: "more-fields" });
  let made = rig.proposedFor(name.value, kind.value, at.id);
  if (made === null) return null;
  const called = (id: string) => (id === at.id ? at.name : name.value.trim());
  let fields = cableFields(made.cable, true, called);
  const draw = () => {
    made = rig.proposedFor(name.value, kind.value, at.id) ?? made;
    if (made !== null) fields = cableFields(made.cable, true, called);
    place.replaceChildren(...fields.elements);
  };
  name.addEventListener("change", draw);
  kind.addEventListener("change", draw);
  draw();
  return form(
    [
      labelled("Name", name),
      labelled("Kind", kind),
      h("p", { class: "form-line" }, `Its first cable, to ${theDevice(at)}:`),
      place,
    ],
    "Add it",
    {
      submit() {
        if (made === null || name.value.trim() === "") return "A device needs a name.";
        const { id } = made;
        const cable = fields.cable();
        return fields.problem() ?? rig.add({ id, name: name.value.trim(), kind: kind.value }, cable);
      },
      chosen: () => `device ${made?.id}`,
    },
  );
}

interface CableFields {
  readonly elements: readonly HTMLElement[];
  problem(): string | null;
  cable(): NewCable;
}

/** @param asksType whether type and ways are asked as well; a spare has those of its main */
function cableFields(proposed: NewCable, asksType: boolean, called: (device: string) => string): CableFields {
  const id = textField(proposed.id);
  const length = h("input", {
    ...{ value: proposed.lengthMetres ?? "", inputmode: "decimal", size: 6, autocomplete: "off" },
    ...{ placeholder: String(LENGTH_ASSUMED), title: `Blank: ${LENGTH_ASSUMED} m is assumed` },
  });
  const type = choice(
    LINK_TYPES.map((one) => [one, linkType(one).name]),
    proposed.type,
  );
  const ways = choice(
    [
      ["there", `to ${called(proposed.to)}`],
      ["back", `to ${called(proposed.from)}`],
      ["both", "both ways, two cables on one path"],
    ],
    proposed.return ? "both" : "there",
  );
  const lengthField = labelled("Length, in m or ft", length);
  const waysField = labelled("Sound and clock go", ways);
  const isLengthKnown = () => !lengthField.hidden && length.value.trim() !== "";
  const update = () => {
    const now = linkType(typeIn(type.value));
    lengthField.hidden = isStreamType(now.type);
    waysField.hidden = now.twoWay;
    ways.options[2]!.disabled = isStreamType(now.type);
  };
  type.addEventListener("change", update);
  update();
  return {
    elements: [...(asksType ? [labelled("Type", type), waysField] : []), lengthField, labelled("Called", id)],
    problem: () => {
      const read = isLengthKnown() ? readLength(length.value) : null;
      if (read === null || ("value" in read && read.value <= LENGTH_METRES_MAX)) return null;
      return "value" in read ? `A cable is at most ${LENGTH_METRES_MAX} m long here.` : `Write ${read.expected}.`;
    },
    cable() {
      const isBack = ways.value === "back";
      return {
        ...{ id: id.value.trim(), type: typeIn(type.value), return: ways.value === "both", spareOf: proposed.spareOf },
        from: isBack ? proposed.to : proposed.from,
        to: isBack ? proposed.from : proposed.to,
        lengthMetres: isLengthKnown() ? metresIn(length.value) : null,
      };
    },
  };
}

/** Of what was found to be a length. */
function metresIn(text: string): number | null {
  const read = readLength(text);
  return "value" in read ? read.value : null;
}

function typeIn(value: string) {
  return LINK_TYPES.find((one) => one === value) ?? LINK_TYPES[0];
}

function form(fields: readonly HTMLElement[], act: string, deeds: Pick<PlanForm, "submit" | "chosen">): PlanForm {
  const says = h("p", { class: "form-problem", role: "alert" });
  const button = h("button", { type: "submit", class: "main-button" }, act);
  const element = h("form", { class: "plan-form" }, h("div", { class: "fields" }, ...fields, button), says);
  return { element, says, ...deeds };
}

function textField(value: string): HTMLInputElement {
  return h("input", { value, size: 16, autocomplete: "off", spellcheck: false });
}

function choice(options: readonly (readonly [string, string])[], chosen: string): HTMLSelectElement {
  const select = h("select", {}, ...options.map(([value, text]) => h("option", { value }, text)));
  select.value = chosen;
  return select;
}
