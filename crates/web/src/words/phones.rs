//! Words of phones: letting them in, and what those see who have not joined.

pub(crate) mod page {
    //! The page at the office.

    use app::ledger::DeviceState;

    pub(crate) const SHEET: &str = "Phones";
    pub(crate) const LET_IN: &str = "Let a phone in";
    pub(crate) const PERSON: &str = "Who uses it";
    pub(crate) const DEVICE: &str = "Which phone";
    pub(crate) const DEVICE_HINT: &str =
        "A name by which you know it again, as “black phone of the budding crew”.";
    pub(crate) const HOST: &str = "The phone reaches this machine another way";
    pub(crate) const HOST_LABEL: &str = "Name or address of this machine in the phone's network";
    pub(crate) const MAKE_CODE: &str = "Make a code to scan";
    pub(crate) const INCOMPLETE: &str =
        "Write who uses it and which phone it is, each in at most 60 letters.";
    pub(crate) const QR_TITLE: &str = "Code with which the phone joins";
    pub(crate) const OR_TYPE: &str = "Or type this address on the phone:";
    pub(crate) const IF_WARNED: &str = "If the phone warns that it does not trust this machine, stop there and do the \
         first step on the page Phones with it.";
    pub(crate) const BACK: &str = "Back to Phones";
    pub(crate) const FIRST: &str = "Once on each phone, before it joins";
    pub(crate) const FIRST_WHY: &str = "The phone must trust this machine, so that nobody else can pass for it. Scan this \
         and do what the page says.";
    pub(crate) const TRUST_QR_TITLE: &str =
        "Code that opens the page on how the phone trusts this machine";
    pub(crate) const FINGERPRINT: &str =
        "The phone shows the fingerprint (SHA-256) of what it is to trust. It must be this one:";
    pub(crate) const LIST: &str = "Phones that were let in";
    pub(crate) const REVOKE: &str = "Let in no more";
    pub(crate) const CLOCK: &str = "the clock of this machine";
    pub(crate) const CLOCK_MEND: &str = "set the clock right and try again";
    pub(crate) const CLOSED_WHY: &str = "Barkslip was started for this machine alone. To let phones in your own network come \
         in, end it and start it this way:";
    pub(crate) const CLOSED_COMMAND: &str = "barkslip serve --phones";
    pub(crate) const HEADS: [(&str, bool); 5] = [
        ("Who and which", false),
        ("State", false),
        ("Joined (UTC)", false),
        ("Here last (UTC)", false),
        ("What you can do", false),
    ];

    pub(crate) fn answer(joined: usize, is_open: bool) -> String {
        let who = match joined {
            0 => "No phone has joined yet".to_owned(),
            1 => "1 phone has joined".to_owned(),
            many => format!("{many} phones have joined"),
        };
        if is_open {
            format!("{who}.")
        } else {
            format!("{who}, and none can come in now.")
        }
    }

    pub(crate) fn invited(person: &str) -> String {
        format!("Scan this with {person}'s phone")
    }

    pub(crate) fn scan(label: &str) -> String {
        format!(
            "Point the camera of “{label}” at the code and open the address that it finds. The code serves once."
        )
    }

    pub(crate) fn until(moment: &str) -> String {
        let clock = moment.get(11..16).unwrap_or(moment);
        format!("It holds for ten minutes, until {clock} UTC.")
    }

    pub(crate) fn left_out(address: &str) -> String {
        format!(
            "This machine is also at {address}, which phones do not trust yet. To serve phones there, start with \
             --address {address}; every phone must then trust this machine anew."
        )
    }

    pub(crate) fn revoke(label: &str) -> String {
        format!("{REVOKE}: {label}")
    }

    pub(crate) fn state(of: DeviceState) -> &'static str {
        match of {
            DeviceState::Invited => "Code not scanned yet",
            DeviceState::NeverCame => "Code ended unused",
            DeviceState::Joined => "Joined",
            DeviceState::Revoked => "Let in no more",
        }
    }
}

pub(crate) mod join {
    //! The page that a scanned code opens.

    pub(crate) const SHEET: &str = "Join";
    pub(crate) const PERSON: &str = "Who uses this phone";
    pub(crate) const DEVICE: &str = "This phone is called";
    pub(crate) const MEANING: &str = "What you record on it goes into the nursery's book under this name. The phone stays in \
         until somebody at the office lets it in no more.";
    pub(crate) const JOIN: &str = "Join with this phone";
    pub(crate) const NOT_ME: &str =
        "If that is not you, close this page and ask at the office for a code of your own.";
    pub(crate) const NO_CODE: &str = "This code was used already or has ended";
    pub(crate) const NO_CODE_MEND: &str =
        "Ask at the office for a new one: a code serves once, for ten minutes.";
    pub(crate) const TOO_OFTEN: &str = "Too many codes were tried";
    pub(crate) const TOO_OFTEN_MEND: &str =
        "Wait a minute, then scan the code at the office again.";

    pub(crate) fn answer(person: &str) -> String {
        format!("Shall this phone be {person}'s?")
    }
}

pub(crate) mod trust {
    //! The page on how a phone trusts this machine.

    pub(crate) const SHEET: &str = "Trust this machine";
    pub(crate) const ANSWER: &str = "Let this phone trust the office machine, once";
    pub(crate) const WHY: &str = "What you count at the bed goes over the air. The phone and the office machine speak so that \
         nobody else can listen or pass for either; for that the phone must know the office machine by \
         its certificate.";
    pub(crate) const GET: &str = "Get the certificate";
    pub(crate) const ANDROID: &str = "On an Android phone";
    pub(crate) const ANDROID_STEPS: [&str; 5] = [
        "Tap “Get the certificate”. The phone keeps a file named barkslip.crt.",
        "Open the phone's Settings and search for “CA certificate”; it stands under Security, Encryption and \
         credentials, Install a certificate.",
        "Tap “CA certificate”, then “Install anyway”, and choose the file.",
        "Look under Settings, Trusted credentials, User, tap the one that begins with “Barkslip” and compare its \
         SHA-256 fingerprint as told below.",
        "Scan the code for joining at the office.",
    ];
    pub(crate) const IPHONE: &str = "On an iPhone";
    pub(crate) const IPHONE_STEPS: [&str; 5] = [
        "Open this page in Safari, tap “Get the certificate” and allow the download.",
        "Open Settings, tap “Profile Downloaded”, then Install. Under More Details compare the SHA-256 fingerprint \
         as told below.",
        "Open Settings, General, About, Certificate Trust Settings.",
        "Switch the one that begins with “Barkslip” on.",
        "Scan the code for joining at the office.",
    ];
    pub(crate) const COMPARE: &str = "Compare before you trust";
    pub(crate) const COMPARE_WHY: &str = "Somebody in the same network could send you another certificate in place of this \
         one. So hold what the phone's settings show against the page Phones on the screen in the office, \
         not only against this page. It reads:";
    pub(crate) const LIMITS: &str = "What you trust it with";
    pub(crate) const LIMITS_WHY: &str = "The certificate can speak for this machine alone, under these names and addresses. \
         It opens no bank, no mail and nothing else, whatever the phone says about “monitoring”:";
    pub(crate) const FROM_MEMORY: &str = "The names of menus are from memory. They differ between phones and change with their versions.";
    pub(crate) const NOTHING: &str = "There is nothing to trust first";
    pub(crate) const NOTHING_MEND: &str = "Phones know this machine by a certificate that they trust already. Scan the code for joining at the office.";
}

pub(crate) mod door {
    //! What those see who are not let in.

    pub(crate) const NOT_JOINED: &str = "This phone has not joined yet";
    pub(crate) const NOT_JOINED_MEND: &str = "Ask at the office for a code: there it is made on the page Phones. Scan it with this phone's camera.";
    pub(crate) const REVOKED: &str = "This phone is let in no more";
    pub(crate) const REVOKED_MEND: &str = "If that should not be, ask at the office for a new code and scan it with this phone's \
         camera. What was recorded before stands.";
    pub(crate) const AT_THE_OFFICE: &str = "This is done at the office machine only";
    pub(crate) const AT_THE_OFFICE_MEND: &str = "Phones may look and record work. Settings, plans and who may come in are changed at the office.";
    pub(crate) const NOT_SAFE: &str = "This address can be listened to, so nothing is shown here";
    pub(crate) const NOT_SAFE_MEND: &str =
        "Open the page that ends in /trust first, then scan the code for joining at the office.";
}
