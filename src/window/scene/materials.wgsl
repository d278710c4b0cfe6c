// Metal, glass and glow for the engine's parts: a sky light, a key light from above the front left, a fill from the right,
// a glint, and edges that darken as they turn away, so that depth is plain without shadows; and shadows of the key light where
// they are on. A few dozen operations a pixel without them: it must draw fast where the processor draws.

#import bevy_pbr::forward_io::VertexOutput
#import bevy_pbr::mesh_view_bindings::view
#ifdef TAKES_SHADOWS
#import bevy_pbr::shadows::fetch_directional_shadow
#endif

struct Finish {
    // What the mesh's own red, green, blue and opacity are multiplied by.
    tint: vec4<f32>,
    // x: glows (1) or is lit (0); y: how much clearer it is seen square on than along (glass).
    manner: vec4<f32>,
}

@group(#{MATERIAL_BIND_GROUP}) @binding(0) var<uniform> finish: Finish;

@fragment
fn fragment(in: VertexOutput) -> @location(0) vec4<f32> {
    let own = in.color * finish.tint;
    // The field of view is so narrow that all of the picture is seen from one direction.
    let towards_camera = view.world_from_view[2].xyz;
    var normal = normalize(in.world_normal);
    let square = dot(normal, towards_camera);
    normal = select(-normal, normal, square >= 0.0);
    let facing = abs(square);

    let key_from = vec3<f32>(-0.398, 0.696, 0.597);
    let fill_from = vec3<f32>(0.885, 0.147, 0.442);
    let faces_key = max(dot(normal, key_from), 0.0);
    var sun = 1.0;
#ifdef TAKES_SHADOWS
    // What is turned away from the light is dark anyway.
    if faces_key > 0.0 {
        let away = (view.view_from_world * in.world_position).z;
        sun = fetch_directional_shadow(0u, in.world_position, in.world_normal, away, in.position.xy);
    }
#endif
    let sky = 0.34 + 0.20 * normal.y;
    let key = 0.78 * faces_key * (0.3 + 0.7 * sun);
    let fill = 0.26 * max(dot(normal, fill_from), 0.0);
    let edge = 0.55 + 0.45 * min(facing * 2.2, 1.0);
    let half_way = normalize(key_from + towards_camera);
    let shine = max(dot(normal, half_way), 0.0);
    let shine2 = shine * shine;
    let shine4 = shine2 * shine2;
    let shine16 = shine4 * shine4 * shine4 * shine4;
    let lit = own.rgb * (sky + key + fill) * edge + vec3<f32>(0.16) * shine16 * shine16 * sun;
    let rgb = mix(lit, own.rgb, finish.manner.x);
    let cover = own.a * mix(1.0, 1.0 - 0.75 * facing, finish.manner.y);
    return vec4<f32>(rgb, cover);
}
