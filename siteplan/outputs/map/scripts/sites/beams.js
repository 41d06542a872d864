/* What the sites of a beam share: its carriers, its thresholds, its hub and the curves of that hub. */

/** The shared figures of a site's beam; of a plan with one beam those of the plan. */
export const beamOf = (model, i) => (model.beams ? model.beams.each[model.beams.of[i]] : model);

/** Every hub that the plan places, each once. */
export function hubsOf(model) {
  const found = new Map();
  for (const { hub } of model.beams?.each ?? [model]) {
    if (hub) found.set(`${hub.lat} ${hub.lon}`, hub);
  }
  return [...found.values()];
}
