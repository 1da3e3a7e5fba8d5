//! Requests that no browser would send: refused in a sentence, and the page goes on.

use crate::page::Served;
use std::io::Write;
use std::net::TcpStream;
use std::time::{Duration, Instant};

#[test]
fn cli_malformed_requests_do_the_page_no_harm() {
    let served = Served::new();
    let host = served.host().to_string();
    let post = |path: &str, body: &str| {
        format!(
            "POST /api/{path} HTTP/1.1\r\nHost: {host}\r\nContent-Type: application/json\r\nContent-Length: {}\r\n\r\n{body}",
            body.len()
        )
    };
    let here = "{\"sets\":[],\"skill\":\"club\"}";
    let list = "name = \\\"a\\\"\\naltitude_m = 1\\nlatitude_deg = 50\\nsource = \\\"b\\\"\\n[[elements]]\\nstraight_m = 99\\n\
                grade_percent = 9\\n";
    let good = [
        post(
            "rough",
            &format!(
                "{{\"window\":\"w\",\"number\":1,\"here\":{here},\"pinned\":{here},\"rides\":6,\"seed\":1}}"
            ),
        ),
        post("place", &format!("{{\"here\":{here},\"pinned\":{here},\"corner\":\"6\"}}")),
        post(
            "line",
            &format!(
                "{{\"here\":{here},\"line\":\"corner,position,offset_m\\n6,entry,0.1\",\"what_if\":\"\"}}"
            ),
        ),
        post(
            "calibration",
            &format!(
                "{{\"here\":{here},\"name\":\"a.csv\",\"sheet\":\"run,finish\\n1,x\",\"fit\":\"drag\",\"skill\":\"\",\"spread\":\"\",\
                 \"spread_of_sheet\":false,\"trap_at\":\"\",\"only\":\"\",\"leave_out\":[],\"keep_good_rows\":false}}"
            ),
        ),
        post(
            "trial",
            &format!(
                "{{\"here\":{here},\"runs\":\"6\",\"spread\":\"0.2\",\"difference\":\"0.1\",\"difference_sd\":\"0.1\",\
                 \"worth\":\"0.01\",\"questions\":\"\"}}"
            ),
        ),
        post(
            "analysis",
            "{\"name\":\"a.csv\",\"sheet\":\"run,set-up,finish\\n1,A,55\\n2,B,55.1\\n3,A,54.9\\n4,B,55.2\",\"a\":\"\",\
             \"b\":\"\",\"athlete\":\"\",\"prior\":\"\",\"prior_sd\":\"\",\"keep_good_rows\":false}",
        ),
        // no track that a sled could ride: solving its runners ten thousand times is another test
        post("left-alone", &format!("{{\"files\":[{{\"name\":\"a.toml\",\"text\":\"{list}[\"}}]}}")),
        post("check-track", &format!("{{\"files\":[{{\"name\":\"a.toml\",\"text\":\"{list}\"}}]}}")),
    ];
    // a fixed sequence (Knuth's generator of 64 bits): the same requests each time
    let mut random = 1_u64;
    let mut next = |below: usize| {
        random = random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (random >> 33) as usize % below
    };
    let begun = Instant::now();
    let (mut answered, mut refused) = (0_usize, 0_usize);
    let many = std::env::var("PAGE_REQUESTS").ok().and_then(|n| n.parse().ok()).unwrap_or(10_000_usize);
    for i in 0..many {
        let mut bytes = good[i % good.len()].clone().into_bytes();
        for _ in 0..1 + next(6) {
            if bytes.len() < 2 {
                break;
            }
            let at = next(bytes.len());
            match next(3) {
                0 => bytes[at] = next(256) as u8,
                1 => drop(bytes.remove(at)),
                _ => bytes.truncate(at.max(1)),
            }
        }
        let back = served.sends(&bytes);
        let Some(status) = back.split(' ').nth(1) else { continue };
        answered += 1;
        refused += usize::from(status.starts_with('4'));
        assert!(!status.starts_with('5'), "{back}\n{}", String::from_utf8_lossy(&bytes));
    }
    println!("{many} malformed requests: {answered} answered, {refused} refused");
    assert!(answered > many / 3 && refused > many / 5, "{answered} answered, {refused} refused");
    // slow clients beside it: heads that never end
    let slow: Vec<TcpStream> = (0..40)
        .map(|_| {
            let mut stream = TcpStream::connect(&host).unwrap();
            stream.write_all(b"GET / HTTP/1.1\r\nHost: ").unwrap();
            stream
        })
        .collect();
    let get = format!("GET / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n");
    let page = served.told(get.as_bytes(), false);
    assert!(page.starts_with("HTTP/1.1 200") && page.contains("Sled bench"), "{page}");
    drop(slow);
    // far beyond what it takes; a hang would never end
    assert!(begun.elapsed() < Duration::from_secs(120));
}
