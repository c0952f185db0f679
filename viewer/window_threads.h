// Who gets the processor first. Without a graphics card the picture is drawn by threads of this very process, one on
// every core, and a frame of a large lot takes them some tenths of a second: a key pressed meanwhile would wait for its
// turn. What answers a person comes before the picture, and the picture before what is worked out at leisure.
#pragma once

namespace moundwright::viewer {

/// Puts the threads that draw the picture in software behind all others of this process. To be called once the renderer
/// has begun to draw; changes nothing where a graphics card draws.
void let_drawing_wait();

/// Puts the calling thread, for good, behind those too.
void work_at_leisure();

}  // namespace moundwright::viewer
