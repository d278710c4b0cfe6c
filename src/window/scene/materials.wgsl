// The engine's parts. Metal and paint are lit by a key light from above the front left, a fill from the right, a rim light from
// behind, and a room that gloss reflects, all of it reckoned here; glass is clear square on and whiter along its edges; what is
// flat has its mesh's own colours. One shader for all of them: where the processor draws, what is reckoned for a pixel costs
// next to nothing beside corners and triangles, and another shader costs a tenth of a second before the first picture.

#import bevy_pbr::mesh_functions::get_world_from_local
#import bevy_pbr::mesh_view_bindings::view
#ifdef TAKES_SHADOWS
#import bevy_pbr::shadows::fetch_directional_shadow
#endif

struct Finish {
    // What the mesh's own red, green, blue and cover are multiplied by.
    tint: vec4<f32>,
    // x: 0 lit, 1 glass, 2 flat; y: 1 where the mesh's fourth number is its cover; z: 1 where it is drawn over everything;
    // w: what a distance from the crankshaft's axis is multiplied by to be 1 where the light around comes in unhindered.
    manner: vec4<f32>,
}

@group(#{MATERIAL_BIND_GROUP}) @binding(0) var<uniform> finish: Finish;

struct Corner {
    @builtin(instance_index) instance: u32,
    @location(0) place: vec3<f32>,
    @location(1) normal: vec3<f32>,
    @location(5) colour: vec4<f32>,
}

// At the middle of what is covered of a pixel: beyond a triangle's edge a normal would point anywhere.
struct Seen {
    @builtin(position) position: vec4<f32>,
    @location(0) @interpolate(perspective, centroid) colour: vec4<f32>,
    // The fourth: how much of the light around comes here.
    @location(1) @interpolate(perspective, centroid) normal: vec4<f32>,
    // What is done with it, from the material. Asked here and not of the uniform: Mesa's software Vulkan writes a shader anew
    // for each value of a uniform that a branch asks for, in every frame, and keeps them all (seen in 22.3).
    @location(3) @interpolate(flat) manner: f32,
#ifdef TAKES_SHADOWS
    @location(2) @interpolate(perspective, centroid) place: vec3<f32>,
#endif
}

@vertex
fn vertex(in: Corner) -> Seen {
    var out: Seen;
    let world_from_local = get_world_from_local(in.instance);
    let place = world_from_local * vec4<f32>(in.place, 1.0);
    out.position = view.clip_from_world * place;
    // The nearest there is, where it is drawn over everything.
    out.position.z = mix(out.position.z, out.position.w * 0.9999, finish.manner.z);
    // Deep in the case, where parts shade one another, less light comes.
    let deep = 1.0 - min(length(place.xy) * finish.manner.w, 1.0);
    // Parts are turned and made larger or smaller; no spring is pressed so far that it would show here.
    let normal = (world_from_local * vec4<f32>(in.normal, 0.0)).xyz;
    out.normal = vec4<f32>(normal, 1.0 - 0.5 * deep * deep);
    out.colour = in.colour;
    out.manner = finish.manner.x;
#ifdef TAKES_SHADOWS
    out.place = place.xyz;
#endif
    return out;
}

const KEY_FROM: vec3<f32> = vec3<f32>(-0.398, 0.696, 0.597);
const FILL_FROM: vec3<f32> = vec3<f32>(0.885, 0.147, 0.442);
const RIM_FROM: vec3<f32> = vec3<f32>(0.49, 0.49, -0.72);

// The light that comes from a direction: a dim floor, a bright ceiling with a strip of lamps along it, and a tall window on the
// left. Strip and window lie so that every shaft and bore shows one of them.
fn room(from_where: vec3<f32>) -> f32 {
    let up = clamp(0.45 + 1.3 * from_where.y, 0.0, 1.0);
    let ceiling = 0.13 + 0.50 * up * up * (3.0 - 2.0 * up);
    let strip = max(1.0 - 4.5 * abs(from_where.y - 0.74), 0.0);
    let window = max(1.0 - 2.6 * abs(from_where.x + 0.60), 0.0) * (0.4 + 0.6 * up);
    return ceiling + strip * strip * 0.75 + window * window * 0.9;
}

@fragment
fn fragment(in: Seen) -> @location(0) vec4<f32> {
    let own = in.colour.rgb * finish.tint.rgb;
    if in.manner > 1.5 {
        return vec4<f32>(own, mix(1.0, in.colour.a, finish.manner.y) * finish.tint.a);
    }
    // The field of view is so narrow that all of the picture is seen from one direction.
    let towards_camera = view.world_from_view[2].xyz;
    let normal = normalize(in.normal.xyz);
    let square = dot(normal, towards_camera);
    let facing = clamp(square, 0.0, 1.0);
    let along = (1.0 - facing) * (1.0 - facing);
    let from_where = 2.0 * square * normal - towards_camera;
    let faces_key = max(dot(normal, KEY_FROM), 0.0);
    if in.manner > 0.5 {
        let cover = in.colour.a * finish.tint.a;
#ifdef HIGH_CONTRAST
        return vec4<f32>(own * 0.25, cover * (0.15 + 2.2 * along));
#else
        let glint = max(dot(from_where, KEY_FROM), 0.0);
        let glint4 = glint * glint * glint * glint;
        let shine = glint4 * glint4 * glint4 * 0.35;
        return vec4<f32>(own * (0.72 + 0.18 * normal.y) + vec3<f32>(shine), cover * (0.22 + 0.78 * along + shine));
#endif
    }
    // Over 1 it is paint, and under 0 a colour that is hatched in high contrast.
    let painted = in.colour.a > 1.5;
    let gloss = select(abs(in.colour.a), 0.0, painted);
    let cover = select(finish.tint.a, 1.0, painted);
    let around = in.normal.w;
#ifdef HIGH_CONTRAST
    // Two tones, black outlines, and hatching.
    let line = clamp(facing * 6.0 - 1.2, 0.0, 1.0);
    let tone = select(0.55, 1.0, 0.20 * normal.y + 0.72 * faces_key > 0.39);
    let hatched = in.colour.a < 0.0 && fract((in.position.x + in.position.y) * 0.125) > 0.55;
    return vec4<f32>(select(own * tone, vec3<f32>(0.92), hatched) * line, cover);
#else
    var sun = 1.0;
#ifdef TAKES_SHADOWS
    // What is turned away from the light is dark anyway.
    if faces_key > 0.0 {
        let place = vec4<f32>(in.place, 1.0);
        let away = (view.view_from_world * place).z;
        sun = 0.3 + 0.7 * fetch_directional_shadow(0u, place, normal, away, in.position.xy);
    }
#endif
    let sky = 0.29 + 0.21 * normal.y;
    let fill = 0.16 * max(dot(normal, FILL_FROM), 0.0);
    let diffuse = (sky + fill) * around + 0.80 * faces_key * sun * (0.5 + 0.5 * around);
    let mirror = mix(own, vec3<f32>(0.95), 0.12 + 0.4 * along) * room(from_where) * gloss * around;
    let rim = 0.55 * along * (1.0 - facing) * max(dot(normal, RIM_FROM) + 0.25, 0.0) * (0.4 + gloss);
    return vec4<f32>(own * diffuse * (1.0 - 0.55 * gloss) + 1.15 * mirror + vec3<f32>(rim), cover);
#endif
}
