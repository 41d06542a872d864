/* What the sites of a beam share: its carriers, its thresholds, its hub and the curves of that hub. */

/** The shared figures of a site's beam; of a plan with one beam those of the plan. */
export const beamOf = (model, i) => (model.beams ? model.beams.each[model.beams.of[i]] : model);

/** A beam's name longer than this is cut on the plate of its hub. */
const LONG = 16;

/** Every hub that the plan places, each once, with what its plate says: of several, whose hub it is. */
export function hubsOf(model) {
  const found = new Map();
  for (const { hub, name } of model.beams?.each ?? [model]) {
    if (!hub) continue;
    const place = `${hub.lat} ${hub.lon}`;
    found.set(place, { hub, of: [...(found.get(place)?.of ?? []), name] });
  }
  return [...found.values()].map(({ hub, of }) => ({ ...hub, plate: found.size > 1 ? `HUB ${ofBeams(of)}` : 'HUB' }));
}

function ofBeams([first, ...others]) {
  const letters = [...first];
  const short = letters.length > LONG ? `${letters.slice(0, LONG - 1).join('')}…` : first;
  return others.length ? `${short} +${others.length}` : short;
}
